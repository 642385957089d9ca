// @ts-check
/**
 * Openings mirrored and repeated by handles on the wall sheet: by pointer, finger and keys. What
 * is in hand is offered until it is taken; the server says what it would make, or why it cannot
 * be; the survey changes when it is taken. With Alt nothing is snapped to. Effect.
 *
 * @typedef {import("../edits/handles.js").Told} Told
 * @typedef {import("../edits/handles.js").InHand & {trial: import("../edits/handles.js").Trial | null, fault: string, turn: number}} Held
 * @typedef {{face: string, of: string[], told: Told | null, held: Held | null, ghost: string[], said: string}} Handles
 */

import { askJson, latest } from "../api.js";
import { ARROW_PX, axisPlace, axisTo, bayBox, bayTo, bayUpTo, chosenWith, counting, deedName, firstAxis, firstBay, handleSpots, nextOf, openingAt, spacings, wishOf } from "../edits/handles.js";
import { inWords } from "../edits/lines.js";
import { facePath } from "../edits/things.js";
import { addWish } from "../edits/wishes.js";
import { arrowStep } from "../keys.js";
import { pathFromText, pathText, valueAt } from "../paths.js";

const SNAP_PX = 7;
const MARK = "handle:";

/** Nothing chosen yet. @param {string} face @param {string[]} [of] @returns {Handles} */
export const handlesAt = (face, of = []) => ({ face, of, told: null, held: null, ghost: [], said: "" });

/**
 * @param {object} given
 * @param {import("../views/sheet.js").Sheet} given.sheet the wall
 * @param {import("../store.js").Store} given.store @param {import("../bench.js").Bench} given.bench
 * @param {() => number} given.grab reach in screen pixels
 */
export function workOnHandles({ sheet, store, bench, grab }) {
  let pressed = /** @type {[number, number]} */ ([0, 0]);
  let turn = 0;
  let free = false;
  let more = false;

  /** @returns {Handles | null} */
  const now = () => store.state.handles;
  const active = () => Boolean(now()?.told) && store.state.drawing === "over" && !store.state.run;
  const told = () => /** @type {Told} */ (now()?.told);
  const held = () => now()?.held ?? null;
  const of = () => now()?.of ?? [];
  /** @param {Partial<Handles>} patch */
  const set = (patch) => { const then = now(); if (then) store.set({ handles: { ...then, ...patch } }); };
  const url = (/** @type {string} */ route) => `/api/surveys/${store.state.survey}/elevation/${route}`;
  const face = () => valueAt(bench.doc(), facePath(store.state.face));
  const says = (/** @type {string} */ text) => inWords(text, face());
  const about = () => ({ stamp: store.state.drawn?.stamp, face: store.state.face });

  // what the handles go by, asked again for other openings and whenever the elevation is drawn anew
  const teller = latest(
    (/** @type {{of: string[], stamp: string}} */ want, signal) => askJson(url("handles"), { ...about(), of: want.of }, { signal }),
    (answer, want) => {
      const then = now();
      if (!then || then.of !== want.of || store.state.drawn?.stamp !== want.stamp) return;
      const there = then.of.filter((id) => answer.openings.some((/** @type {any} */ one) => one.id === id));
      const openings = answer.openings.map((/** @type {any} */ one) => ({ ...one, label: says(one.id) }));
      set({ told: { ...answer, openings }, held: null, ghost: [], ...(there.length < then.of.length ? { of: there } : {}) });
    },
    (problem) => set({ said: problem.message }),
  );
  store.on((s) => [s.handles?.of, s.drawn?.stamp], (s) => {
    if (s.handles && s.drawn?.stamp) teller.ask({ of: s.handles.of, stamp: s.drawn.stamp });
    else if (s.handles?.told) set({ told: null, held: null });
  });
  store.on((s) => [s.drawing, s.run, s.face, s.saved.state, s.handles !== null], (s) => {
    if (s.handles && (s.drawing !== "over" || s.run || s.handles.face !== s.face || s.saved.state === "elsewhere")) store.set({ handles: null });
  });

  const asker = latest(
    (/** @type {{held: Held, body: any}} */ want, signal) => askJson(url("completion"), want.body, { signal }),
    (answer, want) => learn(want.held, answer),
    (problem, want) => learn(want.held, { refused: problem.message }),
  );
  /** @param {Held} then @param {any} answer */
  function learn(then, answer) {
    const next = held();
    if (next?.turn === then.turn) set({ held: { ...next, trial: answer.refused ? null : { ...answer, notes: answer.notes.map(says) }, fault: says(answer.refused ?? "") } });
  }
  /** @param {Held} next */
  const bodyOf = (next) => ({ ...about(), wish: wishOf(next, of(), told()), ...(next.kind === "bay" ? { count: next.count } : {}) });

  /** @param {import("../edits/handles.js").InHand} next */
  function carry(next) {
    const then = held();
    const mine = { trial: null, fault: "", turn, ...(then?.kind === next.kind ? { trial: then.trial, fault: then.fault } : {}), ...next };
    set({ held: mine, ghost: [], said: "" });
    asker.ask({ held: mine, body: bodyOf(mine) });
  }

  function giveUp() {
    asker.stop();
    turn += 1;
    set({ held: null });
  }

  async function accept() {
    const mine = held();
    if (!mine) return;
    asker.stop();
    const answer = await askJson(url("completion"), bodyOf(mine)).catch((problem) => ({ refused: problem.message }));
    if (held() !== mine) return;
    if (answer.refused) { learn(mine, answer); return; }
    const wish = wishOf(mine, of(), told());
    turn += 1;
    // what was offered stays until the whole elevation comes
    set({ held: null, ghost: answer.offered, said: "Drawn dashed, and listed among the liberties." });
    bench.edit(deedName(mine, of(), told()), addWish(bench.doc(), store.state.face, "completions", wish));
  }

  /** Take a handle in hand where it stands. @param {string} which "axis", "left", "right" or "count" */
  function begin(which) {
    turn += 1;
    const then = held();
    if (which === "axis") { const onto = firstAxis(told()); carry(then?.kind === "axis" ? then : { kind: "axis", does: of().length ? "mirror" : "left", at_mm: onto.at_mm, onto }); }
    else if (which === "left" || which === "right") { if (of().length) carry(firstBay(told(), of(), which)); }
    else if (then) carry(then);
  }

  sheet.pane.addEventListener("pointerdown", (event) => { free = event.altKey; more = event.shiftKey; }, true);
  sheet.pane.addEventListener("pointermove", (event) => { free = event.altKey; }, true);
  const reach_mm = () => (free ? 0 : SNAP_PX / sheet.view.scale);
  const axisAt = () => axisPlace(told(), held());

  const spots = () => (active() ? handleSpots(told(), of(), held(), sheet.view, sheet.size) : []);

  /** @param {[number, number]} at @returns {string | null} */
  function handleAt(at) {
    const near = spots().map((spot) => ({ ...spot, d: Math.max(Math.abs(spot.at[0] - at[0]), Math.abs(spot.at[1] - at[1])) })).filter((spot) => spot.d <= grab() / 2 + 2).sort((a, b) => a.d - b.d)[0];
    if (near) return near.which;
    // the axis itself, all the way down
    return active() && held()?.kind !== "bay" && Math.abs(sheet.toScreen([axisAt(), 0])[0] - at[0]) < 6 ? "axis" : null;
  }

  /** @param {[number, number]} at @returns {import("../edits/handles.js").Place | null} */
  const under = (at) => { const [x, y] = sheet.toSheet(at); return openingAt(told(), [x, -y], 5 / sheet.view.scale); };

  /** Choose what of the survey stands for it too, so that both sheets and the table show it. @param {string[]} next @param {string | null} last */
  function choose(next, last) {
    asker.stop();
    turn += 1;
    store.set({ handles: { .../** @type {Handles} */ (now()), of: next, held: null, ghost: [], said: "" } });
    const own = last && next.includes(last) && face()?.measures.some((/** @type {any} */ m) => m.id === last);
    bench.choose(own ? pathText(["faces", `@${store.state.face}`, "measures", `@${last}`]) : null);
  }

  return {
    active, spots, axisAt, begin, accept, giveUp, choose,
    get held() { return held(); },
    /** How it is meant: openings mirrored, or a half restored. @param {import("../edits/handles.js").Does} does */
    turnTo(does) { const mine = held(); if (mine?.kind === "axis") carry({ ...mine, does }); },
    /** @param {number} by */
    countOn(by) { const mine = held(); if (mine?.kind === "bay") carry(counting(mine, by)); },
    /** Begin with what is chosen, or put all handles away. */
    turn() {
      if (now()) { store.set({ handles: null }); return; }
      const path = store.state.chosen ? pathFromText(store.state.chosen) : [];
      const chosen = path[2] === "measures" && face()?.measures.find((/** @type {any} */ m) => `@${m.id}` === path[3] && m.kind === "opening");
      store.set({ drawing: "over", run: null, margin: null, layout: store.state.layout === "photo" ? "both" : store.state.layout, handles: handlesAt(store.state.face, chosen ? [chosen.id] : []) });
    },
    /** @param {[number, number]} at @returns {string | null} */
    near(at) { const which = handleAt(at); if (which) pressed = at; return which && MARK + which; },
    owns: (/** @type {string} */ path) => path.startsWith(MARK),
    ownerKey: () => null,
    cursor: () => "ew-resize",
    /** The hand moves along the wall alone. @param {string} path @returns {[number, number]} */
    screenOf(path) {
      const which = path.slice(MARK.length);
      const spot = spots().find((one) => one.which === which);
      return spot ? [which === "axis" ? sheet.toScreen([axisAt(), 0])[0] : spot.at[0], pressed[1]] : pressed;
    },
    /** @param {string} path */
    start(path) {
      const which = path.slice(MARK.length);
      turn += 1;
      if (which === "axis") begin(which);
      else if (held()?.kind !== "bay" && (which === "left" || which === "right")) set({ held: { kind: "bay", side: which, along_mm: 0, count: 1, onto: null, trial: null, fault: "", turn }, ghost: [], said: "" });
    },
    /** @param {[number, number]} at where the handle is to be @param {string} path */
    move(at, path) {
      const mine = held();
      const which = path.slice(MARK.length);
      if (mine?.kind === "axis") carry(axisTo(mine, told(), sheet.toSheet(at)[0], reach_mm()));
      if (mine?.kind !== "bay") return;
      const [left, , right] = /** @type {number[]} */ (bayBox(told(), of()));
      if (which === "count") { carry(bayUpTo(mine, sheet.toSheet(at)[0] - (left + right) / 2)); return; }
      const from = mine.side === "left" ? sheet.toScreen([left, 0])[0] - ARROW_PX : sheet.toScreen([right, 0])[0] + ARROW_PX;
      carry(bayTo(mine, told(), of(), (at[0] - from) / sheet.view.scale, reach_mm()));
    },
    /** Put down it stays offered; given up it is gone. @param {boolean} kept */
    end(kept) { const mine = held(); if (!kept || (mine?.kind === "bay" && mine.along_mm === 0)) giveUp(); },
    /** A click takes it in hand where it would begin. @param {string} path */
    click(path) { const which = path.slice(MARK.length); if (!held()) begin(which); },
    /** A click beside all handles chooses. @param {[number, number]} at @returns {boolean} whether the click is taken */
    clickAt(at) {
      if (!active()) return false;
      const place = under(at);
      if (held() && !place) return true;
      choose(chosenWith(of(), place?.id ?? null, more), place?.id ?? null);
      return true;
    },
    /** @param {[number, number]} at @returns {boolean} */
    overOpening: (at) => active() && under(at) !== null,
    /** @param {KeyboardEvent} event @returns {boolean} whether it was for a handle */
    onKey(event) {
      if (!active() || event.ctrlKey || event.metaKey) return false;
      const which = /** @type {Element} */ (event.target).closest?.("[data-handle]")?.getAttribute("data-handle") ?? null;
      const by = arrowStep(event);
      const page = /** @type {1 | -1 | undefined} */ ({ PageUp: 1, PageDown: -1 }[event.key]);
      const more = { "+": 1, "=": 1, "-": -1 }[event.key];
      if (event.key === "Escape") { if (held()) giveUp(); else store.set({ handles: null }); return true; }
      if (!held() && which && (by || page || more || event.key === "Enter" || event.key === " ")) { begin(which); return true; }
      const mine = held();
      if (!mine) return false;
      if (event.key === "Enter") accept();
      else if (mine.kind === "axis" && page) { const next = nextOf(told().axes, (axis) => axis.at_mm, mine.at_mm, page); if (next) carry({ ...mine, at_mm: next.at_mm, onto: next }); }
      else if (mine.kind === "axis" && by?.[0]) carry({ ...mine, at_mm: mine.at_mm + by[0], onto: null });
      else if (mine.kind === "bay" && more) carry(counting(mine, more));
      else if (mine.kind === "bay" && by?.[1]) carry(counting(mine, -Math.sign(by[1])));
      else if (mine.kind === "bay" && by) carry({ ...mine, along_mm: mine.along_mm + by[0], onto: null });
      else if (mine.kind === "bay" && page) {
        const way = mine.along_mm < 0 ? -1 : 1;
        const next = nextOf(spacings(told(), of(), way), (one) => one.spacing_mm, Math.abs(mine.along_mm), page);
        if (next) carry({ ...mine, along_mm: next.spacing_mm * way, onto: next });
      } else return Boolean(by);
      return true;
    },
  };
}
/** @typedef {ReturnType<typeof workOnHandles>} HandlesTool */
