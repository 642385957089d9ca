// @ts-check
/** Details of the wall and what completes it, as forms made from their fields. Effect. */

import { h, named } from "../dom.js";
import { inWords } from "../edits/lines.js";
import { addWish, changeWish, makeWish, removeWish, setDrawing, specsOf, ticked, wishName, withOneAxis } from "../edits/wishes.js";
import { icon } from "../icons.js";
import { askedField, refusalOf, refuse } from "../refusals.js";
import { PLOT_CHOICES, levelNames, openingsOf, plotWith } from "../wishes_spec.js";
import { handlesBody } from "./job_handles.js";
import { libertiesTable, linesBody } from "./drawn_lines.js";
import { faceOf } from "./job_places.js";

/** Which wish is unfolded; no part of the survey. */
let unfolded = "";

/** @param {import("../main.js").Context} context @returns {any[]} */
export function wishesBody(context) {
  const { bench } = context;
  const face = faceOf(context);
  if (!face) return [];
  const drawing = face.drawing ?? {};
  return [
    h("label", { class: "tick-row", title: "Sills, heads, widths and spacings that agree within their ± are drawn as one" }, h("input", { type: "checkbox", id: "wish-tidy", checked: drawing.tidy ?? true, onchange: (/** @type {any} */ e) => bench.edit(e.target.checked ? "line up" : "leave as measured", setDrawing(bench.doc(), face.id, "tidy", e.target.checked)) }), "Line up what agrees"),
    h("datalist", { id: "level-names" }, ...levelNames(face).map((one) => h("option", { value: one.id }, one.label))),
    ...linesBody(context, face),
    ...listOf(context, face, "details", "Details of the wall", "Add a detail …"),
    ...listOf(context, face, "completions", "What completes it", "Complete it …"),
    ...handlesBody(context),
    plot(context, face, drawing.plot),
    libertiesTable(context, face),
  ];
}

/** @param {import("../main.js").Context} context @param {any} face @param {import("../edits/wishes.js").WishList} list @param {string} title @param {string} ask @returns {any[]} */
function listOf(context, face, list, title, ask) {
  const { bench } = context;
  const specs = specsOf(list);
  const add = (/** @type {string} */ kind) => {
    if (!kind) return;
    if (specs[kind].fields.some((field) => field.type === "pick")) { bench.take("wish", kind, { list, name: specs[kind].name }); return; }
    const wish = makeWish(face, list, kind, null);
    if (!wish) return;
    unfolded = `${list}-${(face.drawing?.[list] ?? []).length}`;
    bench.edit(`add ${specs[kind].name.toLowerCase()}`, addWish(bench.doc(), face.id, list, wish));
  };
  const lacks = !openingsOf(face).length;
  return [
    h("h3", {}, title),
    ...(face.drawing?.[list] ?? []).map((/** @type {any} */ wish, /** @type {number} */ i) => wishRow(context, face, list, wish, i)),
    h("label", {}, h("span", { class: "unseen" }, ask), h("select", { id: `add-${list}`, onchange: (/** @type {any} */ e) => add(e.target.value) },
      h("option", { value: "", selected: true }, ask), ...Object.entries(specs).map(([kind, spec]) => h("option", { value: kind, title: spec.hover, disabled: spec.wants === "opening" && lacks }, spec.name)))),
  ];
}

/** @param {import("../main.js").Context} context @param {any} face @param {import("../edits/wishes.js").WishList} list @param {any} wish @param {number} i */
function wishRow(context, face, list, wish, i) {
  const { bench } = context;
  const spec = specsOf(list)[wish.kind];
  const id = `${list}-${i}`;
  const change = (/** @type {Record<string, any>} */ patch) => bench.edit(`change ${spec.name.toLowerCase()}`, changeWish(bench.doc(), face.id, list, i, withOneAxis(patch)));
  return h("div", { class: "item stacked" },
    h("div", { class: "row tight" },
      h("details", { class: "grow", open: unfolded === id, ontoggle: (/** @type {any} */ e) => { if (e.target.open) unfolded = id; else if (unfolded === id) unfolded = ""; } }, h("summary", { id: `wish-${id}`, title: spec.hover }, wishName(face, list, wish)),
        h("div", { class: "stack" }, ...spec.fields.map((field) => fieldOf(context, face, wish, field, `${id}-${field.key}`, change)))),
      h("button", { id: `wish-off-${id}`, type: "button", class: "icon", title: `Remove ${spec.name.toLowerCase()}`, "aria-label": `Remove ${wishName(face, list, wish)}`, onclick: () => bench.edit(`remove ${spec.name.toLowerCase()}`, removeWish(bench.doc(), face.id, list, i)) }, icon("bin"))));
}

/** @param {import("../main.js").Context} context @param {any} face @param {any} wish @param {import("../wishes_spec.js").Field} field @param {string} id
 * @param {(patch: Record<string, any>) => void} change @returns {any} */
function fieldOf(context, face, wish, field, id, change) {
  const { actions, bench } = context;
  const value = wish[field.key];
  if (field.type === "tick") return h("label", { class: "tick-row" }, h("input", { type: "checkbox", id, checked: Boolean(value), onchange: (/** @type {any} */ e) => change({ [field.key]: e.target.checked }) }), field.name);
  if (field.type === "choice") return named(field.name, h("select", { id, onchange: (/** @type {any} */ e) => change({ [field.key]: e.target.value || null }) }, ...Object.entries(field.choices ?? {}).map(([one, word]) => h("option", { value: one, selected: (value ?? "") === one }, word))));
  if (field.type === "opening") return named(field.name, h("select", { id, onchange: (/** @type {any} */ e) => change({ [field.key]: e.target.value }) }, ...openingsOf(face).map((one) => h("option", { value: one.id, selected: one.id === value }, one.label))));
  if (field.type === "openings") {
    const measured = openingsOf(face);
    const invented = (value ?? []).filter((/** @type {string} */ name) => !measured.some((one) => one.id === name)).map((/** @type {string} */ name) => ({ id: name, label: inWords(name, face) }));
    return h("fieldset", {}, h("legend", { title: field.hover }, field.name), value?.length || !field.hover.startsWith("None ticked") ? "" : h("p", { class: "soft" }, field.hover), ...[...measured, ...invented].map((one) => h("label", { class: "tick-row" }, h("input", { type: "checkbox", id: `${id}-${one.id}`, checked: (value ?? []).includes(one.id), onchange: (/** @type {any} */ e) => change({ [field.key]: ticked(value ?? [], one.id, e.target.checked, field.least ?? 0, field.most) }) }), one.label)));
  }
  if (field.type === "courses") {
    const courses = (face.measures ?? []).filter((/** @type {any} */ m) => m.kind === "courses");
    return named(field.name, h("select", { id, onchange: (/** @type {any} */ e) => change(e.target.value ? { measure: e.target.value, gauge_mm: null } : { measure: null, gauge_mm: wish.gauge_mm ?? 75 }) },
      h("option", { value: "", selected: !value }, "no measure: the course below"), ...courses.map((/** @type {any} */ m) => h("option", { value: m.id, selected: m.id === value }, m.label || m.id))));
  }
  if (field.type === "pick") return h("button", { id, type: "button", onclick: () => bench.take("wish", wish.kind, { list: id.split("-")[0], index: Number(id.split("-")[1]), name: field.name }) }, "Pick its place again");
  if (field.type === "axis") {
    const [list, index] = id.split("-");
    return h("div", { class: "row tight" },
      h("button", { id, type: "button", title: field.hover, onclick: () => bench.take("wish", wish.kind, { list, index: Number(index), name: field.name, field: field.key }) }, value ? "Pick the axis again" : "Pick the axis"),
      value ? h("button", { id: `${id}-off`, type: "button", class: "icon", title: "The axis picked is left out", "aria-label": "Leave the axis picked out", onclick: () => change({ [field.key]: null }) }, icon("bin")) : "");
  }
  if (field.type === "count") {
    return [named(field.name, askedField({ id, inputmode: "numeric", value: value ?? "", ondone: (/** @type {string} */ text) => (/^\d{1,3}$/.test(text) && Number(text) >= (field.least ?? 1) ? change({ [field.key]: Number(text) }) : refuse(id, text, `Type a whole number from ${field.least ?? 1}.`)) })), refusalOf(id)];
  }
  const shown = value == null ? "" : typeof value === "string" ? value : `${value} mm`;
  const isName = (/** @type {string} */ text) => field.type === "level" && levelNames(face).some((one) => one.id === text);
  return [named(field.name, askedField({
    id, value: shown, title: field.hover, placeholder: field.empty ?? "", list: field.type === "level" ? "level-names" : undefined,
    ondone: (/** @type {string} */ text) => (isName(text) ? change({ [field.key]: text }) : text === "" && !field.empty ? refuse(id, text, `${field.name} cannot be left empty: type a length.`) : actions.readLength(text, id, (length_mm) => change(field.key === "gauge_mm" && wish.kind === "course-lines" ? { gauge_mm: length_mm, measure: null } : { [field.key]: length_mm }))),
  })), refusalOf(id)];
}

/** @param {import("../main.js").Context} context @param {any} face @param {any} plotNow */
function plot({ bench, actions }, face, plotNow) {
  const set = (/** @type {Record<string, any>} */ patch) => {
    bench.edit("fit the plot", setDrawing(bench.doc(), face.id, "plot", plotWith(plotNow, patch)));
  };
  const side = (/** @type {"width_mm" | "height_mm"} */ key, /** @type {string} */ name) => named(name, askedField({ id: `plot-${key}`, value: plotNow?.[key] ? `${plotNow[key]} mm` : "", placeholder: "free", ondone: (/** @type {string} */ text) => actions.readLength(text, `plot-${key}`, (length_mm) => set({ [key]: length_mm })) }));
  return h("fieldset", {}, h("legend", { title: "How wide and high the model may be on the layout" }, "Plot on the layout"), h("div", { class: "two" }, side("width_mm", "Wide"), side("height_mm", "High")), refusalOf("plot-width_mm"), refusalOf("plot-height_mm"),
    plotNow ? named("Fit it by", h("select", { id: "plot-choice", onchange: (/** @type {any} */ e) => set({ choice: e.target.value }) }, ...Object.entries(PLOT_CHOICES).map(([id, word]) => h("option", { value: id, selected: id === plotNow.choice }, word)))) : "");
}
