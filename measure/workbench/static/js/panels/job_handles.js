// @ts-check
/** Openings mirrored and repeated on the wall, in the margin: the handles out or away, and which openings they stand at. Effect. */

import { h } from "../dom.js";
import { chosenWith } from "../edits/handles.js";

/** Whether the names are unfolded; no part of the survey. */
let unfolded = false;

/** @param {import("../main.js").Context} context @returns {any[]} */
export function handlesBody(context) {
  const { store } = context;
  const { handles } = store.state;
  const tool = context.sheets?.handles;
  if (!tool) return [];
  const told = handles?.told;
  return [
    h("button", { id: "handles-out", type: "button", "aria-pressed": String(Boolean(handles)), title: "Handles at openings over the drawing (h)", disabled: !store.state.drawn?.paths, onclick: tool.turn }, "Mirror or repeat on the wall"),
    handles && told ? h("details", { open: unfolded, ontoggle: (/** @type {any} */ e) => { unfolded = e.target.open; } }, h("summary", { id: "handles-names" }, handles.of.length ? `${handles.of.length} of ${told.openings.length} openings chosen` : "Choose openings by name"),
      ...told.openings.map((one) => h("label", { class: "tick-row" }, h("input", { type: "checkbox", id: `once-more-${one.id}`, checked: handles.of.includes(one.id), onchange: () => tool.choose(chosenWith(handles.of, one.id, true), one.id) }), one.inferred ? `${one.label}, not measured` : one.label))) : "",
  ];
}
