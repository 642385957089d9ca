// @ts-check
/** What concerns the whole page: the program is gone, another tab has the survey. Effect. */

import { h, fill } from "../dom.js";
import { icon, wrongSign } from "../icons.js";

/** @param {import("../main.js").Context} context */
export function mountNotice({ store, saver }) {
  const el = /** @type {HTMLElement} */ (document.getElementById("notice"));
  store.on((s) => [s.place, s.saved.state, s.saved.message], (s) => {
    const { state, message } = s.saved;
    if (s.place !== "bench" || state === "saved" || state === "saving") { fill(el); return; }
    if (state === "elsewhere") {
      fill(el, h("div", {}, icon("next", { class: "state-next" }), h("p", {}, message), h("button", { id: "take-over", type: "button", class: "main", onclick: saver.takeOver }, "Work on it here")));
    } else {
      fill(el, h("div", {}, h("p", { class: "wrong" }, wrongSign(), message), h("button", { id: "try-again", type: "button", onclick: saver.claim }, "Try again")));
    }
  });
}
