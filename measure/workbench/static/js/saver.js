// @ts-check
/**
 * Saving after every edit, and knowing who may. Effect.
 *
 * The first tab on a survey holds it; another is told so and may take it over. While the program
 * is not answering, edits stay on the page and are sent as soon as it is back.
 */

import { askJson, latest } from "./api.js";
import { present, record } from "./history.js";

const BEAT_MS = 4000;

/** @param {import("./store.js").Store} store @param {() => void} comeBack called when the program answers again */
export function keepSaved(store, comeBack) {
  const tab = crypto.randomUUID();
  /** @type {any} */
  let savedDoc = null;
  let revision = 0;

  const say = (/** @type {import("./store.js").State["saved"]["state"]} */ state, message = "") => store.set({ saved: { state, message } });

  const put = latest(
    ({ survey, doc }, signal) => askJson(`/api/surveys/${survey}`, { document: doc, revision, tab }, { method: "PUT", signal }),
    (told, args) => {
      if (args.survey !== store.state.survey) return;
      savedDoc = args.doc;
      revision = told.revision;
      const now = store.state.history && present(store.state.history);
      say(now === args.doc ? "saved" : "saving");
    },
    (problem, args) => {
      if (args.survey === store.state.survey) refused(/** @type {import("./api.js").ApiError} */ (problem));
    },
  );

  /** @param {import("./api.js").ApiError} problem */
  function refused(problem) {
    const sentence = `${problem.message} ${problem.hint ?? ""}`.trim();
    if (problem.code === "held" || problem.code === "stale") say("elsewhere", sentence);
    else if (problem.code === "lost" || problem.code === "key") say("lost", sentence);
    else say("unsaved", sentence);
  }

  /** While the file itself is being changed or read again, edits wait. */
  let waits = false;

  function save() {
    const { survey, history, saved } = store.state;
    if (!survey || !history || waits) return;
    const doc = present(history);
    if (doc === savedDoc || saved.state === "elsewhere") return;
    if (saved.state !== "lost") say("saving");
    put.ask({ survey, doc });
  }
  store.on((state) => [state.survey, state.history && present(state.history)], save);

  /** Do something to the file between two saves. @template T @param {() => Promise<T>} act @returns {Promise<T>} */
  async function alone(act) {
    while (put.busy) await new Promise((done) => { setTimeout(done, 20); });
    waits = true;
    try { return await act(); } finally { waits = false; save(); }
  }

  /** Hold the survey, or learn that another tab does. @param {boolean} takeOver */
  async function claim(takeOver) {
    const { survey, saved } = store.state;
    if (!survey) return;
    const before = revision;
    const saving = put.busy;
    try {
      const told = await askJson(`/api/surveys/${survey}/hold`, { tab, take_over: takeOver });
      if (survey !== store.state.survey) return;
      // a save of our own crossed the question: what it told of the file is of the moment before, or after
      if (told.held && !takeOver && (saving || put.busy || revision !== before)) return;
      if (!told.held) {
        say("elsewhere", "This survey is open in another tab. Here it can be looked at, not changed.");
      } else if (takeOver || told.revision !== revision) {
        await alone(() => reload(survey, takeOver ? null : saved.state));
      } else if (saved.state === "lost" || saved.state === "elsewhere") {
        comeBack();
        say("saved");
        save();
      }
    } catch (problem) {
      refused(/** @type {import("./api.js").ApiError} */ (problem));
    }
  }

  /** Take the document as it stands on disk, as one step that can be undone.
   * @param {string} survey @param {string | null} before */
  async function reload(survey, before) {
    const told = await askJson(`/api/surveys/${survey}`);
    const { history } = store.state;
    revision = told.revision;
    if (before === "lost" && history && present(history) !== savedDoc) {
      say("saving");
      comeBack();
      return;
    }
    savedDoc = told.document;
    if (history) store.set({ history: record(history, told.document, "take over") });
    say("saved");
    comeBack();
  }

  setInterval(() => { if (store.state.place === "bench" && store.state.survey) claim(false); }, BEAT_MS);
  addEventListener("pagehide", () => {
    const { survey } = store.state;
    if (survey) navigator.sendBeacon?.(`/api/surveys/${survey}/let-go`, new Blob([JSON.stringify({ tab })], { type: "application/json" }));
  });

  return {
    tab,
    /** A survey was opened: this is what stands on disk. @param {any} doc @param {number} at */
    opened(doc, at) { savedDoc = doc; revision = at; },
    alone,
    takeOver: () => claim(true),
    claim: () => claim(false),
    letGo(/** @type {string} */ survey) {
      return askJson(`/api/surveys/${survey}/let-go`, { tab }).catch(() => undefined);
    },
  };
}
