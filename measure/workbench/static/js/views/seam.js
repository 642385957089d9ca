// @ts-check
/** The seam between the sheets: dragged, or moved by arrow keys; lies the way that makes the pictures larger. Effect. */

import { h } from "../dom.js";

/** @param {() => void} moved */
export function makeSeam(moved) {
  let share = 0.5;
  let lying = false;
  const el = h("div", { class: "seam", role: "separator", tabindex: "0", "aria-label": "Seam between photo and wall", "aria-valuemin": "15", "aria-valuemax": "85", "aria-valuenow": "50", title: "Drag to share the width; double click: half and half" });

  /** @param {number} next */
  function set(next) {
    share = Math.min(0.85, Math.max(0.15, next));
    el.setAttribute("aria-valuenow", String(Math.round(share * 100)));
    moved();
  }
  el.addEventListener("pointerdown", (event) => { el.setPointerCapture(event.pointerId); event.preventDefault(); el.focus({ preventScroll: true }); });
  el.addEventListener("pointermove", (event) => {
    if (!el.hasPointerCapture(event.pointerId)) return;
    const box = /** @type {HTMLElement} */ (el.parentElement).getBoundingClientRect();
    set(lying ? (event.clientY - box.top) / box.height : (event.clientX - box.left) / box.width);
  });
  el.addEventListener("dblclick", () => set(0.5));
  el.addEventListener("keydown", (event) => {
    const back = event.key === (lying ? "ArrowUp" : "ArrowLeft");
    const on = event.key === (lying ? "ArrowDown" : "ArrowRight");
    if (!back && !on) return;
    set(share + (on ? 0.05 : -0.05));
    event.preventDefault();
    event.stopPropagation();
  });

  return {
    el,
    /** @param {HTMLElement} pair @param {HTMLElement} first @param {HTMLElement} second
     * @param {"photo" | "both" | "wall"} layout @param {number} aspect of the photo */
    apply(pair, first, second, layout, aspect) {
      const { clientWidth: w, clientHeight: hh } = pair;
      const beside = Math.min(w / 2 / aspect, hh) * Math.min(w / 2, hh * aspect);
      const stacked = Math.min(w / aspect, hh / 2) * Math.min(w, (hh / 2) * aspect);
      // what lies stays lying until standing is clearly better, so that a notice does not turn it
      lying = stacked > beside * (lying ? 1.0 : 1.12);
      pair.classList.toggle("lying", lying);
      el.setAttribute("aria-orientation", lying ? "horizontal" : "vertical");
      first.hidden = layout === "wall";
      second.hidden = layout === "photo";
      el.hidden = layout !== "both";
      first.style.flex = layout === "both" ? `1 1 ${share * 100}%` : "1 1 100%";
      second.style.flex = layout === "both" ? `1 1 ${(1 - share) * 100}%` : "1 1 100%";
    },
  };
}
