// @ts-check
/** Levels and jambs of the elevation in the margin: the one chosen, what was wished of them, and the table of liberties. Effect. */

import { h, named } from "../dom.js";
import { LEAST_MOVE_MM, inWords, keepApart, keyOf, lineName, lineWishes, memberName, moveLine, putTogether } from "../edits/lines.js";
import { counted, modelSizeText, trueSizeText } from "../format.js";
import { icon } from "../icons.js";
import { askedField, refusalOf } from "../refusals.js";

/** @typedef {import("../edits/lines.js").Line} Line */

/** Whether the liberties are unfolded; no part of the survey. */
let unfolded = false;

/** @param {import("../main.js").Context} context @param {any} face @returns {any[]} */
export function linesBody(context, face) {
  const { store, bench } = context;
  const { drawn, drawing } = store.state;
  const over = drawing === "over";
  const lines = /** @type {Line[]} */ (drawn?.lines ?? []);
  const line = over && lines.find((one) => keyOf(one) === drawn?.line);
  const wishes = lineWishes(bench.doc(), face.id, face);
  return [
    h("h3", {}, "Levels and jambs"),
    over ? h("p", { class: "soft" }, "Drag a level or a jamb on the wall. It is drawn to other lines; with Alt it is not. With Shift one opening goes alone.")
      : h("button", { id: "move-lines", type: "button", disabled: !lines.length, onclick: () => store.set({ drawing: "over", layout: store.state.layout === "photo" ? "both" : store.state.layout, run: null }) }, "Move them on the wall"),
    over ? h("label", { class: "tick-row", title: "Dashed, where things were picked" }, h("input", { type: "checkbox", id: "ghost-on", checked: Boolean(drawn?.ghostOn), onchange: (/** @type {any} */ e) => store.set({ drawn: { ...store.state.drawn, ghostOn: e.target.checked } }) }), "Show places as picked") : "",
    lines.length && over ? named("Line", h("select", { id: "line-chosen", onchange: (/** @type {any} */ e) => store.set({ drawn: { ...store.state.drawn, line: e.target.value || null, said: "" } }) },
      h("option", { value: "", selected: !line }, "none chosen"),
      ...["level", "plumb"].map((what) => h("optgroup", { label: what === "level" ? "Levels" : "Jambs" }, ...lines.filter((one) => one.what === what && !one.fixed).map((one) => h("option", { value: keyOf(one), selected: one === line }, lineName(one, face)))))) ) : "",
    line ? chosenLine(context, face, lines, line) : "",
    ...wishes.map((one, i) => h("div", { class: "item" }, h("span", { class: "grow" }, one.says), h("button", { id: `line-wish-${i}`, type: "button", class: "icon", title: "Take it back", "aria-label": `Take back: ${one.says}`, onclick: () => bench.edit("take back a line", one.without) }, icon("bin")))),
  ];
}

/** @param {import("../main.js").Context} context @param {any} face @param {Line[]} lines @param {Line} line */
function chosenLine({ store, bench, actions }, face, lines, line) {
  const { unit } = store.state;
  const model = store.state.answer?.page?.scale_denominator ?? 1;
  const by = line.at_mm - line.measured_mm;
  const others = lines.filter((one) => one.what === line.what && one !== line);
  const members = [...new Set(line.owners)];
  return h("div", { class: "item stacked" },
    named(line.what === "level" ? "Above the datum" : "From the left edge", askedField({ id: "line-at", value: `${Math.round(line.at_mm * 10) / 10} mm`, disabled: line.fixed, ondone: (/** @type {string} */ text) => actions.readLength(text, "line-at", (mm) => { if (mm !== null) bench.edit(`move ${lineName(line, face)}`, moveLine(bench.doc(), face.id, line, line.members, { to_mm: mm })); }) })),
    refusalOf("line-at"),
    h("p", { class: "soft" }, `Measured ${trueSizeText(line.measured_mm, null, unit)}${Math.abs(by) < LEAST_MOVE_MM ? "." : `, drawn ${trueSizeText(Math.abs(by), null, unit)} ${line.what === "level" ? (by > 0 ? "higher" : "lower") : by > 0 ? "to the right" : "to the left"}: ${modelSizeText(Math.abs(by) / model)} on the model.`}`),
    line.moved ? h("button", { id: "line-as-measured", type: "button", title: "Delete", onclick: () => bench.edit(`leave ${lineName(line, face)} as measured`, moveLine(bench.doc(), face.id, line, line.members, null)) }, "As measured again") : "",
    ...(members.length > 1 ? members.filter((name) => name !== "datum.level").map((name) => h("div", { class: "row tight" }, h("span", { class: "grow" }, memberName(name, face)), h("button", { id: `line-apart-${name}`, type: "button", title: "It is never lined up with the others on this line", onclick: () => bench.edit(`keep ${memberName(name, face)} apart`, keepApart(bench.doc(), face.id, line, name)) }, "Keep apart"))) : []),
    others.length ? named("Make it one with", h("select", { id: "line-together", onchange: (/** @type {any} */ e) => { const other = others.find((one) => keyOf(one) === e.target.value); if (other) bench.edit(`make ${lineName(line, face)} one with ${lineName(other, face)}`, putTogether(bench.doc(), face.id, line, other)); } },
      h("option", { value: "", selected: true }, "choose a line …"), ...others.map((one) => h("option", { value: keyOf(one) }, lineName(one, face))))) : "");
}

const isAsked = (/** @type {any} */ one) => one.reason.includes("as asked");

/** The liberties taken as a table: what was asked for, then the largest moves, then what was invented. @param {import("../main.js").Context} context @param {any} face */
export function libertiesTable({ store }, face) {
  const { liberties } = store.state.drawingHow;
  if (!liberties?.length) return "";
  const { unit } = store.state;
  const moved = liberties.filter((/** @type {any} */ one) => one.moved_mm != null).sort((/** @type {any} */ a, /** @type {any} */ b) => Number(isAsked(b)) - Number(isAsked(a)) || Math.abs(b.moved_mm) - Math.abs(a.moved_mm));
  const other = liberties.filter((/** @type {any} */ one) => one.moved_mm == null);
  const signed = (/** @type {number} */ value, /** @type {string} */ text) => `${value < 0 ? "−" : "+"}${text}`;
  const label = (/** @type {any} */ one) => inWords(one.id, face);
  return h("details", { id: "liberties", open: unfolded, ontoggle: (/** @type {any} */ e) => { unfolded = e.target.open; } }, h("summary", {}, `${counted(liberties.length, "liberty", "liberties")} taken`),
    h("table", { class: "liberties" }, h("caption", { class: "unseen" }, "What is drawn otherwise than measured"),
      h("thead", {}, h("tr", {}, ...["Moved", "On the model"].map((name) => h("th", { scope: "col" }, name)))),
      ...moved.slice(0, 60).map((/** @type {any} */ one) => h("tbody", {},
        h("tr", {}, h("th", { scope: "rowgroup", colspan: 2 }, `${label(one)} ${one.part}: ${trueSizeText(one.drawn_mm, one.u_drawn_mm || null, unit)}`, h("span", { class: "soft" }, inWords(one.reason, face)))),
        h("tr", {}, h("td", {}, signed(one.moved_mm, trueSizeText(Math.abs(one.moved_mm), null, unit))), h("td", {}, signed(one.moved_mm, modelSizeText(Math.abs(one.moved_model_mm)))))))),
    other.length ? h("ul", { class: "stack" }, ...other.slice(0, 40).map((/** @type {any} */ one) => h("li", { class: "soft" }, `${label(one)}: ${inWords(one.reason, face)}`))) : "");
}
