// @ts-check
/** The sheets of card in place of photo and wall: one at a time, as they will be printed. Effect. */

import { h, fill } from "../dom.js";
import { counted } from "../format.js";
import { icon } from "../icons.js";

/** @param {import("../main.js").Context} context @param {HTMLElement} work */
export function mountCardSheets({ store, bench, cards }, work) {
  const el = h("section", { class: "card-view", "aria-label": "Sheets of card", hidden: true });
  work.append(el);
  let href = "";

  store.on((s) => [s.cards, s.place, s.history && bench.doc()], (s) => {
    const { told, open, at, doc } = s.cards;
    el.hidden = !(s.place === "bench" && open && told);
    if (el.hidden) return;
    const sheet = told.sheets[at];
    URL.revokeObjectURL(href);
    href = URL.createObjectURL(new Blob([sheet.svg], { type: "image/svg+xml" }));
    const go = (/** @type {number} */ to) => cards.change({ at: (to + told.sheets.length) % told.sheets.length });
    fill(el,
      h("div", { class: "hand" },
        h("button", { id: "card-back", type: "button", "aria-label": "Sheet before", onclick: () => go(at - 1) }, "‹"),
        h("label", { class: "grow" }, h("span", { class: "unseen" }, "Sheet shown"), h("select", { id: "card-sheet", onchange: (/** @type {any} */ e) => go(Number(e.target.value)) }, ...told.sheets.map((/** @type {any} */ one, /** @type {number} */ i) => h("option", { value: i, selected: i === at }, one.name)))),
        h("button", { id: "card-on", type: "button", "aria-label": "Next sheet", onclick: () => go(at + 1) }, "›"),
        h("p", { role: "status" }, doc === bench.doc() ? (sheet.marks.length ? `Parts ${sheet.marks.join(", ")}` : counted(told.parts, "part")) : "The survey has changed since: lay the sheets out again."),
        h("button", { id: "card-close", type: "button", onclick: () => cards.change({ open: false }) }, icon("cross"), "Back to the wall")),
      h("figure", {}, h("img", { src: href, alt: `${sheet.name}, as it will be printed` })));
  });
  // any other view puts the sheets away
  store.on((s) => [s.layout, s.drawing, s.run, s.map], (s) => { if (s.cards.open) cards.change({ open: false }); });
}
