// @ts-check
/** The drawing and the sheets: how it is drawn, on what paper, and the files. Effect. */

import { h, named } from "../dom.js";
import { bytesText, agoText } from "../format.js";
import { icon, wrongSign } from "../icons.js";
import { lackOf } from "../job_lines.js";
import { cardsBody } from "./job_cards.js";
import { faceOf } from "./job_places.js";
import { wishesBody } from "./job_wishes.js";

/** @param {import("../main.js").Context} context */
export function drawingBody(context) {
  const { store } = context;
  const { drawingHow: how, drawing } = store.state;
  const layers = how.known_layers ?? [];
  /** @param {any} patch */
  const change = (patch) => store.set({ drawingHow: { ...how, ...patch } });
  const lack = lacksOf(context)("drawing");
  return [
    lack ? lackLine(context, "drawing-lack", lack) : "",
    h("div", { class: "row" },
      h("button", { id: "draw-over", type: "button", "aria-pressed": String(drawing === "over"), onclick: () => store.set({ drawing: drawing === "over" ? "off" : "over" }) }, "Over the wall"),
      h("button", { id: "draw-alone", type: "button", "aria-pressed": String(drawing === "alone"), onclick: () => store.set({ drawing: drawing === "alone" ? "off" : "alone" }) }, "As it will print")),
    h("div", { class: "two" },
      named("Paper", h("select", { id: "paper", onchange: (/** @type {any} */ e) => change({ paper: e.target.value }) }, ...(store.state.start?.papers ?? ["A4"]).map((/** @type {string} */ p) => h("option", { value: p, selected: p === how.paper }, p)))),
      named("Lies", h("select", { id: "turn", onchange: (/** @type {any} */ e) => change({ landscape: e.target.value === "wide" }) }, h("option", { value: "wide", selected: how.landscape }, "wide"), h("option", { value: "tall", selected: !how.landscape }, "tall")))),
    ...wishesBody(context),
    layers.length ? h("details", {}, h("summary", {}, how.hidden.length ? `Layers, ${how.hidden.length} hidden` : "Layers"), ...layers.map((/** @type {any} */ layer) => h("label", { class: "tick-row", title: layer.hover ?? "" }, h("input", { type: "checkbox", id: `layer-${layer.id}`, checked: !how.hidden.includes(layer.id), onchange: (/** @type {any} */ e) => change({ hidden: e.target.checked ? how.hidden.filter((/** @type {string} */ one) => one !== layer.id) : [...how.hidden, layer.id] }) }), layer.name))) : "",
    how.problem ? h("p", { class: "wrong" }, wrongSign(), how.problem) : "",
    ...(how.warnings ?? []).map((/** @type {string} */ text) => h("p", { class: "offer" }, wrongSign(), text)),
    h("button", { id: "to-sheets", type: "button", class: "main", onclick: () => store.set({ open: "sheets" }) }, "Save it as …"),
  ];
}

/** @param {import("../main.js").Context} context @returns {(what: "picture" | "table" | "drawing") => ReturnType<typeof lackOf>} */
function lacksOf(context) {
  const face = faceOf(context);
  return (what) => lackOf(face, context.store.state.answer?.page?.faces?.[face?.id], what);
}

/** What is missing, and the way to it. @param {import("../main.js").Context} context @param {string} id @param {ReturnType<typeof lackOf>} lack */
function lackLine({ store, bench }, id, lack) {
  const go = lack?.open === "measures" ? () => bench.take("measures", "opening") : () => store.set({ open: lack?.open ?? null });
  const word = lack?.open === "measures" ? "Measure an opening" : lack?.open === "known" ? "Choose a known size" : "To the frame";
  return h("div", { class: "stack" }, h("p", { class: "offer", id }, icon("next"), h("span", {}, lack?.says)), h("button", { id: `${id}-go`, type: "button", onclick: go }, word));
}

const FORMATS = [
  ["svg", "SVG", "for a cutter or a drawing program; one unit is one millimetre"],
  ["pdf", "PDF", "to print at 100 %, with a bar to check the printer by"],
  ["dxf", "DXF", "for a drawing program; millimetres, plain layer names"],
  ["png", "PNG", "the straightened photo at print size, as a skin"],
  ["csv", "CSV", "the table of sizes with their ±"],
  ["zip", "All", "every file above in one archive"],
];

/** @param {import("../main.js").Context} context */
export function sheetsBody(context) {
  const { store, actions } = context;
  const { exports, drawingHow: how } = store.state;
  const lacks = lacksOf(context);
  return [
    h("h3", {}, "The elevation"),
    lacks("drawing") ? lackLine(context, "sheets-lack", lacks("drawing")) : "",
    ...FORMATS.map(([id, name, what]) => {
      const lack = lacks(id === "png" ? "picture" : id === "csv" ? "table" : "drawing");
      return h("button", { id: `export-${id}`, type: "button", class: "wide export", title: lack?.says, "aria-disabled": lack ? "true" : undefined, "aria-describedby": lack ? "sheets-lack" : undefined, onclick: () => lack || actions.exportAs(id) }, h("strong", {}, name), h("span", { class: "soft" }, what));
    }),
    how.exportProblem ? h("p", { class: "wrong", role: "alert" }, wrongSign(), how.exportProblem) : "",
    ...(how.exportRemarks ?? []).map((/** @type {string} */ text) => h("p", { class: "offer", role: "status" }, wrongSign(), text)),
    how.exporting ? h("div", { class: "row", role: "status" }, h("span", { class: "grow" }, `Writing ${how.exporting} …`), h("button", { id: "stop-export", type: "button", onclick: actions.stopExport }, "Stop")) : "",
    ...cardsBody(context),
    exports.length ? h("h3", {}, "Written lately") : "",
    ...exports.slice(0, 8).map((/** @type {any} */ one) => h("div", { class: "item" }, h("a", { class: "grow", href: one.href, download: one.name, title: one.folder ?? "" }, one.name), h("span", { class: "soft" }, `${bytesText(one.bytes)}, ${agoText(one.seconds_ago ?? 0)}`))),
    exports.length ? h("p", { class: "soft" }, icon("tick"), " Also kept beside the survey.") : "",
    h("p", { class: "soft" }, "Print at 100 %, never “fit to page”, and measure the bar with a steel rule before cutting. A sharp blade, many light passes, a steel rule with a finger guard."),
  ];
}
