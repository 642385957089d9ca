// @ts-check
/** What lies under the pointer on a sheet: a thing by its line, a pick by its handle. Pure. */

import { distance, distanceToPath } from "../geometry.js";

/** @typedef {import("../marks.js").Mark} Mark */

/** How far from its line a thing is still meant, in screen pixels. */
const LINE_PX = 9;
/** So much nearer a pick of the chosen thing counts. */
const CHOSEN_PX = 3;

/** @param {readonly Mark[]} marks @param {readonly number[]} at on the screen @param {(point: readonly number[]) => readonly number[]} toScreen @returns {Mark | null} */
export function markNear(marks, at, toScreen) {
  let best = null;
  let nearest = LINE_PX;
  for (const m of marks) {
    const d = distanceToPath(at, m.line.map(toScreen), m.closed);
    if (d < nearest) { nearest = d; best = m; }
  }
  return best;
}

/** @param {readonly Mark[]} marks @param {readonly number[]} at on the screen @param {number} reach_px @param {string | null} chosen key of the chosen thing @param {(point: readonly number[]) => readonly number[]} toScreen @returns {string | null} path of the pick */
export function pickUnder(marks, at, reach_px, chosen, toScreen) {
  let best = null;
  let nearest = reach_px;
  for (const m of marks) {
    for (const pick of m.picks) {
      const d = distance(at, toScreen(pick.point)) - (m.key === chosen ? CHOSEN_PX : 0);
      if (d < nearest) { nearest = d; best = pick.path; }
    }
  }
  return best;
}
