// @ts-check
/**
 * The one thing the page must say: how far to trust what is seen, and what would help most.
 * The server gives the numbers and the advice; here they are put in the user's units. Pure.
 *
 * @typedef {{u_across_mm: number | null, advice: string, state: "none" | "shape" | "coarse" | "sized" | "checked" | "doubtful"}} Trust
 */

import { modelPlusMinus, plain, decimalsFor, MM_PER_INCH } from "./format.js";

/**
 * @param {Trust | null} trust @param {import("./format.js").Unit} unit @param {number} denominator
 * @returns {{lead: string, advice: string}}
 */
export function trustSentence(trust, unit, denominator) {
  if (!trust) return { lead: "", advice: "" };
  const u_mm = trust.u_across_mm;
  if (u_mm == null || !Number.isFinite(u_mm)) return { lead: "", advice: trust.advice };
  const model = modelPlusMinus(u_mm / denominator);
  const lead = trust.state === "doubtful" ? "In doubt:" : trust.state === "coarse" ? "Only to" : "Good to";
  return { lead: `${lead} ±${plusMinusText(u_mm, unit)} across the wall, ${model} on your model.`, advice: trust.advice };
}

/** @param {number} u_mm @param {import("./format.js").Unit} unit */
export function plusMinusText(u_mm, unit) {
  if (unit === "ft") return `${plain(u_mm / MM_PER_INCH, decimalsFor(u_mm / MM_PER_INCH, 2))}\u202fin`;
  if (unit === "m" && u_mm >= 100) return `${plain(u_mm / 1000, 2)}\u202fm`;
  return `${plain(u_mm, u_mm < 1 ? 1 : 0)}\u202fmm`;
}
