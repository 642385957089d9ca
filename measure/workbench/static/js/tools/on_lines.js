// @ts-check
/**
 * Moving levels and jambs of the elevation on the wall sheet: by pointer, finger and keys. While a
 * line is in hand the server is asked where everything stands; the survey changes when it is put
 * down. With Shift the one thing under the pointer goes alone, with Alt nothing is snapped to. Effect.
 *
 * @typedef {import("../edits/lines.js").Line} Line
 * @typedef {{line: Line, members: string[], at_mm: number, onto: Line | null, fault: string}} Held
 */

import { askJson, latest } from "../api.js";
import { LEAST_MOVE_MM, keyOf, lineName, lineNear, moveLine, movedWith, nextLine, wishesOf } from "../edits/lines.js";
import { arrowStep } from "../keys.js";
import { facePath } from "../edits/things.js";
import { valueAt } from "../paths.js";

const SNAP_PX = 7;
const MARK = "line:";

/**
 * @param {object} given
 * @param {import("../views/sheet.js").Sheet} given.sheet the wall
 * @param {import("../store.js").Store} given.store @param {import("../bench.js").Bench} given.bench
 * @param {() => number} given.grab reach in screen pixels
 */
export function workOnLines({ sheet, store, bench, grab }) {
  /** What was drawn when the line was taken hold of. @type {any} */
  let before = null;
  let pressed = /** @type {[number, number]} */ ([0, 0]);
  let alone = false;
  let free = false;

  const drawn = () => store.state.drawn;
  const active = () => store.state.drawing === "over" && !store.state.handles && !store.state.run && store.state.saved.state !== "elsewhere" && Boolean(drawn()?.lines);
  /** @returns {Line[]} */
  const lines = () => (before ?? drawn()).lines;
  const find = (/** @type {string} */ key) => lines().find((line) => keyOf(line) === key);
  /** The line that a path names, and the thing on it. @param {string} path */
  const partsOf = (path) => path.slice(MARK.length).split("|");
  /** @returns {Held | null} */
  const held = () => drawn()?.held ?? null;
  const faceNow = () => valueAt(bench.doc(), facePath(store.state.face));

  const asker = latest(
    (/** @type {{held: Held, survey: string, body: any}} */ want, signal) => askJson(`/api/surveys/${want.survey}/elevation/lines`, want.body, { signal }),
    (told, { held: then }) => {
      const now = held();
      if (!now || !before || now.line !== then.line) return;
      const fault = told.refused ?? (now.at_mm === then.at_mm ? "" : now.fault);
      store.set({ drawn: { ...drawn(), paths: told.paths ?? drawn().paths, inferred: told.inferred ?? drawn().inferred, held: { ...now, fault } } });
    },
    (problem, { held: then }) => {
      const now = held();
      if (now && now.line === then.line) store.set({ drawn: { ...drawn(), held: { ...now, fault: problem.message } } });
    },
  );

  /** @param {Held} next */
  const wishOf = (next) => (next.onto ? { onto: /** @type {string} */ (next.onto.owners.find((name) => !next.members.includes(name))) } : { to_mm: Math.round(next.at_mm * 10) / 10 });

  /** @param {Held} next */
  const askFor = (next) => ({ held: next, survey: /** @type {string} */ (store.state.survey), body: { stamp: before.stamp, face: store.state.face, moved: movedWith(wishesOf(bench.doc(), store.state.face, "moved"), next.line.what, next.members, wishOf(next)) } });

  /** @param {Line} line @param {string[]} members */
  function take(line, members) {
    before = drawn();
    store.set({ drawn: { ...before, said: "", line: keyOf(line), held: { line, members, at_mm: line.at_mm, onto: null, fault: "" } } });
  }

  /** @param {string | null} key */
  function choose(key) { store.set({ drawn: { ...drawn(), line: key, said: "" } }); }

  /** @param {number} at_mm @param {Line | null} onto */
  function carry(at_mm, onto) {
    const now = held();
    if (!now) return;
    const next = { ...now, at_mm: onto ? onto.at_mm : at_mm, onto };
    store.set({ drawn: { ...drawn(), held: next } });
    asker.ask(askFor(next));
  }

  function giveUp() {
    asker.stop();
    const then = before;
    before = null;
    if (then) store.set({ drawn: { ...then, line: drawn()?.line } });
  }

  /** @param {string} why in one sentence */
  function stay(why) {
    giveUp();
    store.set({ drawn: { ...drawn(), said: `${why} It stays where it was.` } });
  }

  async function putDown() {
    const now = held();
    if (!now || !before) { giveUp(); return; }
    if (Math.abs(now.at_mm - now.line.at_mm) < LEAST_MOVE_MM) { giveUp(); return; }
    const { survey, body } = askFor(now);
    asker.stop();
    try {
      const told = await askJson(`/api/surveys/${survey}/elevation/lines`, body);
      if (held() !== now) return;
      if (told.refused) { stay(told.refused); return; }
      before = null;
      // what the server showed stays until the whole elevation comes
      store.set({ drawn: { ...drawn(), paths: told.paths, inferred: told.inferred, lines: told.lines, held: null } });
      const one = now.members.length < now.line.members.length ? [now.members[0]] : now.line.owners;
      bench.edit(`move ${lineName({ ...now.line, owners: one }, faceNow())}`, moveLine(bench.doc(), store.state.face, now.line, now.members, wishOf(now)));
    } catch (problem) {
      if (held() !== now) return;
      stay(/** @type {Error} */ (problem).message);
    }
  }

  sheet.pane.addEventListener("pointerdown", (event) => { alone = event.shiftKey; free = event.altKey; }, true);
  sheet.pane.addEventListener("pointermove", (event) => { free = event.altKey; }, true);

  /** Places of a line on the screen. @param {Line} line @returns {[number, number][][]} */
  const piecesOf = (line) => line.pieces_mm.map(([a, b]) => (line.what === "level" ? [[a, -line.chart_mm], [b, -line.chart_mm]] : [[line.chart_mm, -a], [line.chart_mm, -b]]).map((p) => /** @type {[number, number]} */ (sheet.toScreen(p))));

  /** @param {[number, number]} at @returns {{line: Line, owner: string} | null} */
  function lineAt(at) {
    let best = null;
    let nearest = grab() / 2;
    for (const line of lines()) {
      if (line.fixed) continue;
      piecesOf(line).forEach(([from, to], i) => {
        const [along, across] = line.what === "level" ? [0, 1] : [1, 0];
        const low = Math.min(from[along], to[along]) - 6;
        const high = Math.max(from[along], to[along]) + 6;
        const d = Math.abs(at[across] - from[across]);
        if (at[along] >= low && at[along] <= high && d < nearest) { nearest = d; best = { line, owner: line.owners[i] }; }
      });
    }
    return best;
  }

  return {
    active,
    piecesOf,
    get held() { return held(); },
    /** What a pointer there would take hold of, as a path. @param {[number, number]} at @returns {string | null} */
    near(at) {
      if (!active()) return null;
      const found = lineAt(at);
      if (found) pressed = at;
      return found && `${MARK}${keyOf(found.line)}|${found.owner}`;
    },
    /** No thing of the survey is lit with it. */
    ownerKey: () => null,
    isLine: (/** @type {string} */ path) => path.startsWith(MARK),
    cursor: (/** @type {string} */ path) => (find(partsOf(path)[0])?.what === "plumb" ? "ew-resize" : "ns-resize"),
    /** @param {string} path @returns {[number, number]} */
    screenOf(path) {
      const line = find(partsOf(path)[0]);
      if (!line) return pressed;
      const [x, y] = piecesOf(line)[0][0];
      return line.what === "level" ? [pressed[0], y] : [x, pressed[1]];
    },
    /** @param {string} path */
    start(path) {
      const [key, owner] = partsOf(path);
      const line = find(key);
      if (line) take(line, alone ? [owner] : line.members);
    },
    /** @param {[number, number]} at where the line is to be, on the screen */
    move(at) {
      const now = held();
      if (!now) return;
      const [x, y] = sheet.toSheet(at);
      const at_mm = (now.line.what === "level" ? -y : x) - now.line.chart_mm + now.line.at_mm;
      carry(at_mm, free ? null : lineNear(lines(), now.line, now.members, at_mm, SNAP_PX / sheet.view.scale));
    },
    /** @param {boolean} kept */
    end(kept) { if (kept) putDown(); else giveUp(); },
    /** A click takes a line without moving it. @param {string} path */
    click(path) { choose(partsOf(path)[0]); },
    choose,
    chooseNone() { if (drawn()?.line) choose(null); },
    /** @param {KeyboardEvent} event @param {string} key of the line that has the focus @returns {boolean} whether it was for a line */
    onKey(event, key) {
      const line = find(key);
      if (!line || !active()) return false;
      const by = arrowStep(event);
      const way = by && (line.what === "level" ? -by[1] : by[0]);
      const page = { PageUp: 1, PageDown: -1 }[event.key];
      if (way || page) {
        if (line.fixed) return true;
        if (!held()) take(line, line.members);
        const now = /** @type {Held} */ (held());
        if (page) { const next = nextLine(lines(), line, now.at_mm, /** @type {1 | -1} */ (page)); if (next) carry(next.at_mm, next); } else carry(now.at_mm + Number(way), null);
      } else if (event.key === "Enter" && held()) putDown();
      else if (event.key === "Escape" && held()) giveUp();
      else if ((event.key === "Delete" || event.key === "Backspace") && !held() && line.moved) bench.edit(`leave ${lineName(line, faceNow())} as measured`, moveLine(bench.doc(), store.state.face, line, line.members, null));
      else return Boolean(by);
      return true;
    },
    /** The focus left a line in hand: it is put down. */
    left() { if (held() && before) putDown(); },
  };
}
/** @typedef {ReturnType<typeof workOnLines>} LinesTool */
