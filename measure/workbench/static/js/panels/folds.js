// @ts-check
/** On a narrow page the margins are folded away; a button at each edge unfolds one. Effect. */

import { h, fill } from "../dom.js";
import { icon } from "../icons.js";

/** Where the margins begin to fold: css/narrow.css has the same width. */
const NARROW = "(max-width: 959px)";

/** @param {import("../main.js").Context} context @param {HTMLElement} hand @returns {HTMLElement} the hand between its two buttons */
export function makeFolds({ store }, hand) {
  const narrow = matchMedia(NARROW);
  const left = h("div", { class: "fold" });
  const right = h("div", { class: "fold" });
  const page = /** @type {HTMLElement} */ (document.getElementById("page"));

  /** @param {"job" | "sizes"} id @param {string} word @param {string} sign */
  const button = (id, word, sign) => h("button", { id: `fold-${id}`, type: "button", "aria-expanded": String(store.state.margin === id), "aria-controls": id, onclick: () => store.set({ margin: store.state.margin === id ? null : id }) }, icon(sign), word);

  store.on((s) => [s.margin, s.place], (s) => {
    page.dataset.margin = s.margin ?? "";
    fill(left, button("job", "Job", "outline"));
    fill(right, button("sizes", { sizes: "Measures", versions: "Versions", keys: "Help" }[s.side], "distance"));
  });
  // what is wanted next unfolds by itself; a tool in hand wants the pictures
  store.on((s) => [s.open], (s) => { if (narrow.matches && s.open) store.set({ margin: "job" }); });
  store.on((s) => [s.side], (s) => { if (narrow.matches && s.side !== "sizes") store.set({ margin: "sizes" }); });
  store.on((s) => [s.run?.kind, s.run?.group], (s) => { if (narrow.matches && s.run) store.set({ margin: null }); });
  // sheets of card want the room too
  store.on((s) => [s.cards.open], (s) => { if (narrow.matches && s.cards.open) store.set({ margin: null }); });
  return h("div", { class: "bar" }, left, hand, right);
}
