// @ts-check
/** The right margin: choose what to measure, and the table of measures. Effect. */

import { h, fill } from "../dom.js";
import { icon, wrongSign } from "../icons.js";
import { MEASURES } from "../kinds.js";
import { rowsOf } from "../measure_rows.js";
import { keysList } from "./keys_list.js";
import { openingsOffer } from "./offer_panels.js";
import { sizeDetail } from "./size_detail.js";
import { versionsList } from "./versions_list.js";

/** @param {import("../main.js").Context} context */
export function mountSizes(context) {
  const { store, bench, sheets } = context;
  const el = /** @type {HTMLElement} */ (document.getElementById("sizes"));

  store.on((s) => [s.place, s.side, s.answer, s.chosen, s.face, s.unit, s.run?.kind, s.history && bench.doc(), s.letters, s.saved.state, s.versions, s.offers], (s) => {
    if (s.place !== "bench") { fill(el); return; }
    if (s.side === "keys") { el.setAttribute("aria-label", "Help"); fill(el, ...keysList(context)); return; }
    if (s.side === "versions") { el.setAttribute("aria-label", "Earlier versions"); fill(el, ...versionsList(context)); return; }
    el.setAttribute("aria-label", "Measures");
    const face = bench.doc()?.faces.find((/** @type {any} */ f) => f.id === s.face);
    const rows = rowsOf(face, s.answer?.results?.faces?.[s.face], s.unit, s.answer?.page?.scale_denominator ?? 1);
    const off = !face || s.saved.state === "elsewhere";
    fill(el,
      h("header", {}, h("h2", {}, face ? `Measures: ${face.label || face.id}` : "Measures")),
      h("div", { class: "kinds", role: "group", "aria-label": "Measure" },
        ...Object.entries(MEASURES).map(([kind, spec]) => h("button", {
          id: `kind-${kind}`, type: "button", disabled: off, title: `${spec.hover} (${spec.key})`,
          "aria-pressed": String(s.run?.group === "measures" && s.run.kind === kind),
          onclick: () => (store.state.run?.kind === kind ? bench.putDown() : bench.take("measures", kind)),
        }, icon(kind, { size: 20 }), spec.name))),
      off ? "" : openingsOffer(context, face),
      rows.length ? table(rows, s) : empty(face),
      rows.some((row) => row.knife) ? h("p", { class: "legend" }, icon("knife"), "marked: a knife would see this ±, 0.2 mm or more on your model") : "");
  });

  /** @param {import("../measure_rows.js").Row[]} rows @param {import("../store.js").State} s */
  function table(rows, s) {
    return h("table", {},
      h("caption", { class: "unseen" }, "Measures with their true size and their size on the model"),
      h("colgroup", {}, h("col", { class: "what" }), h("col"), h("col", { class: "model" })),
      h("thead", {}, h("tr", {}, h("th", { scope: "col", colspan: "2" }, "True size ±"), h("th", { scope: "col" }, "Model"))),
      ...rows.map((row) => {
        const chosen = row.key === s.chosen;
        const problem = s.answer?.page?.faces?.[s.face]?.measure_problems?.[row.id];
        return h("tbody", { class: chosen ? "chosen" : "" },
          h("tr", {}, h("th", { scope: "rowgroup", colspan: "3" }, h("button", { id: `row-${row.key}`, type: "button", "aria-expanded": String(chosen), title: MEASURES[row.kind]?.hover, onclick: () => choose(row.key, chosen) }, icon(row.kind), row.label, row.warnings.length || problem ? wrongSign("has a warning") : ""))),
          ...row.sizes.map((size) => h("tr", {},
            h("td", { class: "what" }, size.what ? h("span", { title: size.hover, class: "term" }, size.what) : ""),
            h("td", { class: "value" }, size.value, size.u ? h("span", { class: "pm" }, ` ±${size.u}`) : "", size.unit ? h("span", { class: "unit" }, ` ${size.unit}`) : ""),
            h("td", { class: "model" }, size.knife ? icon("knife", { size: 12, label: "a knife would see this ±" }) : "", size.model))),
          problem && !chosen ? h("tr", {}, h("td", { colspan: "3", class: "what" }, h("span", { class: "wrong" }, problem.message))) : "",
          chosen ? h("tr", {}, h("td", { colspan: "3", class: "detail-cell" }, sizeDetail(context, row, problem))) : "");
      }));
  }

  /** @param {string} key @param {boolean} chosen */
  function choose(key, chosen) {
    bench.choose(chosen ? null : key);
    if (!chosen) sheets?.find(key);
  }

  /** @param {any} face */
  function empty(face) {
    if (!face) return h("div", { class: "empty" }, h("p", { class: "soft" }, "Sizes will stand here once the wall has a face."));
    const sized = store.state.answer?.page?.faces?.[face.id]?.sized;
    return h("div", { class: "empty" },
      h("p", {}, "No measures yet."),
      h("p", { class: "soft" }, sized ? "Choose a kind above and pick it on either sheet. Each size comes with its ±." : "You can pick measures already; sizes appear as soon as the wall has a frame and one known size."));
  }
}
