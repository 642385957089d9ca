// @ts-check
/** The rod at the wall's edge: true heights, banded like the mason's own. Effect. */

import { h, s } from "../dom.js";
import { plain, roundStep, MM_PER_INCH } from "../format.js";

/** @param {number} mm @param {import("../format.js").Unit} unit */
function heightText(mm, unit) {
  if (unit === "ft") return `${plain(mm / MM_PER_INCH / 12, 1)}′`;
  return plain(mm / 1000, 1);
}

export function makeRod() {
  const marks = s("g");
  const here = s("g");
  const svg = s("svg", { "aria-hidden": "true" }, marks, here);
  const el = h("div", { class: "rod", title: "True height along the wall" }, svg);
  return {
    el,
    /**
     * @param {import("../view_transform.js").View} view of the wall sheet
     * @param {{width: number, height: number}} size @param {number} zero_mm chart v of the datum
     * @param {import("../format.js").Unit} unit @param {readonly number[] | null} cross on the sheet
     */
    draw(view, size, zero_mm, unit, cross) {
      const unitMm = unit === "ft" ? MM_PER_INCH * 12 : 1000;
      const step = roundStep(14 / view.scale / unitMm) * unitMm;
      const screenY = (/** @type {number} */ level) => view.dy - (level + zero_mm) * view.scale;
      const lowest = Math.floor(((view.dy - size.height) / view.scale - zero_mm) / step);
      const highest = Math.ceil((view.dy / view.scale - zero_mm) / step);
      /** @type {SVGElement[]} */
      const parts = [];
      const every = step * view.scale > 40 ? 1 : step * view.scale > 20 ? 2 : 5;
      for (let n = lowest; n <= highest && n - lowest < 400; n += 1) {
        const y = screenY(n * step);
        parts.push(s("rect", { class: n % 2 === 0 ? "band" : "bare", x: 35, width: 8, y: y - step * view.scale, height: step * view.scale }));
        if (n % every === 0) parts.push(s("text", { x: 32, y }, heightText(n * step, unit)));
      }
      marks.replaceChildren(...parts);
      if (!cross) { here.replaceChildren(); return; }
      const y = cross[1] * view.scale + view.dy;
      const level = -cross[1] - zero_mm;
      here.replaceChildren(
        s("rect", { class: "herePlate", x: 0, y: y - 9, width: 44, height: 18 }),
        s("text", { class: "hereText", x: 40, y }, unit === "ft" ? `${plain(level / MM_PER_INCH / 12, 2)}′` : plain(level / 1000, 2)),
      );
    },
  };
}
