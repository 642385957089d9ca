// @ts-check
/** The plan: every solved face of one photo from above, growing as faces are solved. Effect. */

import { h, s } from "../dom.js";
import { boxOf } from "../geometry.js";
import { plain, roundStep } from "../format.js";

const WIDTH = 180;
const MARGIN = 10;

/** @param {import("../main.js").Context} context @param {string} photoId @returns {HTMLElement | string} */
export function makePlan({ store, bench }, photoId) {
  const solids = store.state.solids?.faces ?? {};
  // tied photos share one plan, drawn in the frame of one of them
  const planOf = Object.values(solids).find((/** @type {any} */ one) => one.photo === photoId)?.plan_of;
  const faces = bench.doc().faces.filter((/** @type {any} */ f) => solids[f.id]?.plan_mm.length && solids[f.id].plan_of === planOf);
  if (!faces.length) return "";
  const box = boxOf(faces.flatMap((/** @type {any} */ f) => solids[f.id].plan_mm.flat()));
  const scale = (WIDTH - 2 * MARGIN) / Math.max(box.width, box.height * 1.2, 1);
  const height = Math.max(28, box.height * scale) + 2 * MARGIN + 16;
  // z grows towards the viewer, as y grows down the page: the street is at the foot
  const at = (/** @type {number[]} */ p) => `${(MARGIN + (p[0] - box.x) * scale).toFixed(1)} ${(MARGIN + (p[1] - box.y) * scale).toFixed(1)}`;
  const lineOf = (/** @type {number[][]} */ line) => `M${line.map(at).join("L")}`;
  const sized = store.state.answer?.page?.faces?.[faces[0].id]?.sized;
  const bar_mm = roundStep(box.width / 4);
  const names = faces.map((/** @type {any} */ f) => f.label || f.id).join(", ");
  return h("figure", { class: "plan" },
    s("svg", { viewBox: `0 0 ${WIDTH} ${height.toFixed(0)}`, width: WIDTH, height: height.toFixed(0), role: "img", "aria-label": `Plan of ${names}, the street at the foot` },
      ...faces.flatMap((/** @type {any} */ f) => solids[f.id].plan_mm.map((/** @type {number[][]} */ line, /** @type {number} */ i) => s("path", { d: lineOf(line), class: `${f.id === store.state.face ? "mine" : ""} ${i ? "unseen-part" : ""}` }, s("title", {}, f.label || f.id)))),
      sized ? s("g", { class: "bar" }, s("path", { d: `M${MARGIN} ${height - 8}h${(bar_mm * scale).toFixed(1)}m0 -3v6M${MARGIN} ${height - 11}v6` }), s("text", { x: MARGIN + bar_mm * scale + 6, y: height - 4 }, `${plain(bar_mm / 1000, bar_mm < 1000 ? 1 : 0)} m`)) : ""),
    h("figcaption", { class: "soft" }, "From above, the street at the foot."));
}
