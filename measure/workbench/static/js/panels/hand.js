// @ts-check
/** The line over the sheets: the tool in hand and what it asks for next, or the walk. Effect. */

import { h, fill } from "../dom.js";
import { wrongSign } from "../icons.js";
import { tiedBy } from "../job_lines.js";
import { EDGES } from "../kinds.js";
import { runSentence, mayEnd } from "../pick_sequence.js";
import { doubtAbout, doubtsByPath } from "../suspects.js";
import { WALK } from "../words.js";
import { handlesLine } from "./hand_handles.js";
import { jumpTo } from "./job_checks.js";

/** @param {import("../main.js").Context} context @param {HTMLElement} el */
export function mountHand(context, el) {
  const { store, bench } = context;
  store.on((s) => [s.run, s.walk, s.history && bench.doc(), s.face, s.saved.state, s.chosen, s.pick, s.answer, s.handles, s.drawing], (s) => {
    if (s.run) {
      const open = s.run.spec.most !== s.run.spec.least;
      el.className = "hand";
      fill(el, h("span", { class: "tool" }, s.run.group === "tie" ? `Tie: ${s.run.spec.name.toLowerCase()}` : s.run.extra.name ? (s.run.group === "copy" ? `Copy of ${s.run.extra.name}` : s.run.extra.name) : s.run.spec.name[0].toUpperCase() + s.run.spec.name.slice(1)), h("p", { role: "status" }, runSentence(s.run), s.run.picks.length === 0 ? h("span", { class: "soft" }, ` ${s.run.spec.hover}`) : ""),
        s.run.picks.length ? h("button", { id: "give-back", type: "button", onclick: bench.giveBack, title: "Backspace" }, "Last pick back") : "",
        open ? h("button", { id: "end-run", type: "button", class: "main", disabled: !mayEnd(s.run), onclick: bench.endRun, title: "Enter" }, "Done") : "",
        h("button", { id: "put-down", type: "button", onclick: bench.putDown, title: "Escape" }, "Stop picking"));
      return;
    }
    if (s.handles) {
      el.className = "hand handles-hand";
      fill(el, ...handlesLine(context));
      return;
    }
    if (s.walk !== null && WALK[s.walk]) {
      el.className = "hand walk";
      const last = s.walk === WALK.length - 1;
      // every step takes the room of the longest, so that nothing jumps under the pointer
      fill(el, h("span", { class: "tool" }, `${s.walk + 1} of ${WALK.length}`),
        h("div", { class: "steps" }, ...WALK.map((step, i) => h("p", i === s.walk ? { role: "status" } : { class: "other", "aria-hidden": "true" }, step.says))),
        h("button", { id: "walk-back", type: "button", disabled: !s.walk, onclick: () => store.set({ walk: Math.max(0, (store.state.walk ?? 0) - 1) }) }, "Back"),
        h("button", { id: "walk-on", type: "button", class: "main", onclick: () => store.set({ walk: last ? null : (store.state.walk ?? 0) + 1 }) }, last ? "Done" : "Next"),
        h("button", { id: "walk-off", type: "button", onclick: () => store.set({ walk: null }) }, "End the walk"));
      return;
    }
    el.className = "hand";
    fill(el, ...idle(s));
  });

  /** @param {import("../store.js").State} s */
  function idle(s) {
    const face = bench.doc()?.faces.find((/** @type {any} */ f) => f.id === s.face);
    if (s.saved.state === "elsewhere") return [h("span", { class: "tool" }, "Looking only"), h("p", {}, "Zoom and look; change it where it is open.")];
    if (!face) return [h("p", {}, "No face yet. A face is one surface of the building."), h("button", { id: "hand-face", type: "button", class: "main", onclick: () => bench.addFace("wall") }, "Add the front")];
    const doubts = doubtsByPath(s.answer);
    const doubt = doubtAbout(doubts, s.pick) ?? doubtAbout(doubts, s.chosen);
    if (doubt) return [h("p", { class: "wrong", title: doubt.sentence }, wrongSign(), h("span", {}, doubt.sentence)), ...doubt.others.map((other, i) => h("button", { id: `hand-other-${i}`, type: "button", title: other.name, onclick: () => jumpTo(context, other.path) }, "Show the other"))];
    const round = face.surface?.kind === "round";
    if (round && !["left_edge", "right_edge", "meets_wall"].some((edge) => face.surface[edge])) {
      return [h("p", {}, "A tower begins with its outlines, or with the line where it runs into the wall."), ...["left_edge", "right_edge", "meets_wall"].map((edge) => h("button", { id: `hand-${edge}`, type: "button", title: EDGES[edge].hover, onclick: () => bench.take("surface", edge, { beside: face.surface.beside }) }, EDGES[edge].name))];
    }
    if (!face.frame && !round && face.surface?.kind !== "roof") return [h("p", {}, "Begin with the frame: four corners of something upright and square on the wall. Wide is better."), h("button", { id: "hand-frame", type: "button", class: "main", onclick: () => bench.take("frame") }, "Pick the frame")];
    if (!face.references.length && !round && !tiedBy(face) && !s.answer?.page?.faces?.[face.id]?.sized) return [h("p", {}, "The wall is straightened by the corners you picked; it has no size yet. Give it one thing that you know."), h("button", { id: "hand-known", type: "button", class: "main", onclick: () => { store.set({ open: "known" }); document.getElementById("size-filter")?.focus(); } }, "Choose a known size")];
    if (!face.measures.length) return [h("p", {}, "Ready to measure. Choose a kind at the right, or take an opening."), h("button", { id: "hand-opening", type: "button", class: "main", onclick: () => bench.take("measures", "opening") }, "Measure an opening")];
    if (s.drawing === "over") return [h("p", { class: "soft" }, "Drag a level or a jamb to move it. Openings can be mirrored and repeated by handles."), h("button", { id: "hand-handles", type: "button", title: "h", onclick: () => context.sheets?.handles.turn() }, "Mirror or repeat")];
    return [h("p", { class: "soft" }, "Choose a kind at the right to measure. Drag a pick to move it, the sheet to move the view; the wheel zooms.")];
  }
}
