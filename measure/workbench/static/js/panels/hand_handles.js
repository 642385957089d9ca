// @ts-check
/** The line over the sheets while handles at openings are out: what to do, what is offered, taking it or not. Effect. */

import { h } from "../dom.js";
import { offerSentence } from "../edits/handles.js";
import { counted } from "../format.js";
import { wrongSign } from "../icons.js";

/** @param {import("../main.js").Context} context @returns {any[]} */
export function handlesLine(context) {
  const { store } = context;
  const { handles, unit } = store.state;
  const tool = context.sheets?.handles;
  if (!handles || !tool) return [];
  const { told, of, held } = handles;
  if (!told) return [h("span", { class: "tool" }, "Openings"), h("p", { role: "status" }, handles.said || store.state.drawingHow.problem || "Looking at the wall …"), h("button", { id: "handles-away", type: "button", title: "Escape", onclick: tool.turn }, "Put away")];
  const take = (/** @type {string} */ which) => { tool.begin(which); /** @type {HTMLElement | null} */ (document.querySelector(`[data-handle="${which}"]`))?.focus(); };
  if (!held) {
    return [h("span", { class: "tool" }, "Openings"),
      h("p", {}, told.paths ? "In true size, not fitted to its plot. " : "", handles.said || (of.length ? `${counted(of.length, "opening")} chosen. Drag an arrow to repeat, the axis to mirror.` : "Click openings, with Shift several; or drag the axis to restore a half.")),
      h("button", { id: "handle-axis", type: "button", title: "Take the axis in hand", onclick: () => take("axis") }, "Mirror"),
      h("button", { id: "handle-left", type: "button", disabled: !of.length, title: "Repeat to the left", onclick: () => take("left") }, "Repeat left"),
      h("button", { id: "handle-right", type: "button", disabled: !of.length, title: "Repeat to the right", onclick: () => take("right") }, "Repeat right"),
      h("button", { id: "handles-away", type: "button", title: "Escape", onclick: tool.turn }, "Put away")];
  }
  const notes = held.trial?.notes.join(" ") ?? "";
  const says = held.fault ? [h("p", { class: "wrong" }, wrongSign(), h("span", {}, held.fault))] : [h("p", { title: `${offerSentence(held, of, told, held.trial, unit)} ${notes}` }, offerSentence(held, of, told, held.trial, unit), notes ? h("span", { class: "soft" }, ` ${notes}`) : "")];
  return [...says,
    held.kind === "axis"
      ? h("select", { id: "handle-does", "aria-label": "What the axis does", onchange: (/** @type {any} */ e) => tool.turnTo(e.target.value) }, ...Object.entries({ mirror: of.length ? "mirror what is chosen" : "mirror the fuller side", left: "keep the left half", right: "keep the right half" }).map(([id, word]) => h("option", { value: id, selected: id === held.does }, word)))
      : h("span", { class: "counting" }, h("button", { id: "handle-less", type: "button", title: "One copy less (-)", "aria-label": "One copy less", onclick: () => tool.countOn(-1) }, "−"), h("output", {}, `${held.count}×`), h("button", { id: "handle-more", type: "button", title: "One copy more (+)", "aria-label": "One copy more", onclick: () => tool.countOn(1) }, "+")),
    h("button", { id: "handle-take", type: "button", class: "main", disabled: Boolean(held.fault), title: "Enter", onclick: () => tool.accept().then(() => document.getElementById("pane-wall")?.focus()) }, "Take it"),
    h("button", { id: "handle-drop", type: "button", title: "Escape", onclick: () => { tool.giveUp(); document.getElementById("pane-wall")?.focus(); } }, "Give it up")];
}
