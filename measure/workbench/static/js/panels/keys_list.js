// @ts-check
/** The list of keys, the terms, the walk and the safety lines, in the right margin. Effect. */

import { h } from "../dom.js";
import { icon } from "../icons.js";
import { KEY_TABLE } from "../keys.js";
import { SAFETY, TERMS } from "../words.js";

/** @param {import("../main.js").Context} context */
export function keysList({ store }) {
  const places = [...new Set(KEY_TABLE.map((row) => row.where))];
  return [
    h("header", {}, h("h2", {}, "Help"), h("button", { id: "print-keys", type: "button", class: "icon", title: "Print this list", "aria-label": "Print this list", onclick: () => print() }, icon("print")),
      h("button", { id: "close-keys", type: "button", class: "icon", title: "Back to the measures (?)", "aria-label": "Back to the measures", onclick: () => store.set({ side: "sizes" }) }, icon("cross"))),
    h("div", { class: "keys" },
      h("p", { style: { marginTop: "12px" } }, h("button", { id: "walk-start", type: "button", onclick: () => store.set({ walk: 0, side: "sizes" }) }, "Walk me round the page")),
      h("label", { style: { marginTop: "12px" } }, h("span", { class: "name" }, "Light of the page"), h("select", { id: "theme-choice", onchange: (/** @type {any} */ e) => store.set({ theme: e.target.value }) },
        ...Object.entries({ auto: "as the computer has it", light: "day", dark: "night" }).map(([id, word]) => h("option", { value: id, selected: store.state.theme === id }, word)))),
      ...places.flatMap((where) => [h("h3", {}, where), h("dl", {}, ...KEY_TABLE.filter((row) => row.where === where).flatMap((row) => [
        h("dt", {}, ...row.keys.flatMap((key, i) => [i ? " or " : "", h("kbd", {}, key)])), h("dd", {}, row.does)]))]),
      h("label", { class: "tick-row", style: { marginTop: "12px" } }, h("input", { type: "checkbox", id: "letters", checked: store.state.letters, onchange: (/** @type {any} */ e) => store.set({ letters: e.target.checked }) }), "Single letters and digits are keys"),
      h("h3", {}, "Terms"),
      h("dl", {}, ...Object.entries(TERMS).flatMap(([term, means]) => [h("dt", {}, term), h("dd", {}, means)])),
      h("h3", {}, "Safety"),
      h("ul", { class: "safety" }, ...SAFETY.map((line) => h("li", {}, line)))),
  ];
}
