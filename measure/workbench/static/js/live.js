// @ts-check
/**
 * Results that follow the document: one request under way, the newest document next. Effect.
 * A document that cannot be answered keeps the old answer and shows the sentence.
 */

import { askJson, latest } from "./api.js";
import { present } from "./history.js";

/** After the last quick answer the hand must rest so long before the whole one is asked for. */
const REST_MS = 250;

/** @param {import("./store.js").Store} store */
export function keepResultsFresh(store) {
  const asker = latest(
    ({ survey, doc, quick }, signal) => askJson(`/api/surveys/${survey}/results`, { document: doc, quick }, { signal }),
    (answer, args) => {
      if (args.survey !== store.state.survey) return;
      store.set({ answer: args.quick ? withOldCourses(answer, store.state.answer) : answer, problem: null });
      clearTimeout(resting);
      if (args.quick) resting = setTimeout(() => ask(store.state, false), REST_MS);
    },
    (problem, args) => {
      if (args.survey !== store.state.survey) return;
      const { message, hint, code } = /** @type {import("./api.js").ApiError} */ (problem);
      if (code === "lost" || code === "key") store.set({ saved: { state: "lost", message: `${message} ${hint}` } });
      else store.set({ problem: { message, hint: hint ?? "", where: "results" } });
    },
  );
  let resting = 0;

  /** @param {import("./store.js").State} state @param {boolean} quick */
  function ask(state, quick) {
    if (state.survey && state.history) asker.ask({ survey: state.survey, doc: present(state.history), quick });
  }

  store.on((state) => [state.survey, state.history && present(state.history)], (state) => {
    clearTimeout(resting);
    if (!state.survey || !state.history) { asker.stop(); return; }
    const last = state.history.past[state.history.past.length - 1];
    ask(state, Boolean(last.mergeKey) && state.answer !== null);
  });
  return { again: () => ask(store.state, false), get busy() { return asker.busy; } };
}

/**
 * A quick answer reads no courses from the photo: the count read last stays until the hand rests.
 * @param {any} answer @param {any} before
 */
function withOldCourses(answer, before) {
  for (const [id, face] of Object.entries(before?.results?.faces ?? {})) {
    const now = answer.results.faces[id];
    if (!now) continue;
    const told = answer.page.faces[id];
    told.joints = { ...before.page.faces[id]?.joints, ...told.joints };
    for (const [name, measure] of Object.entries(/** @type {any} */ (face).measures)) {
      if (/** @type {any} */ (measure).kind === "courses" && !now.measures[name]) now.measures[name] = measure;
    }
  }
  return answer;
}
