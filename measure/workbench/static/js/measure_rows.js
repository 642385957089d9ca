// @ts-check
/** Rows of the table of measures: name, true size with ±, model size. Pure. */

import { angleText, areaText, counted, modelSizeText, trueSize } from "./format.js";
import { MEASURES } from "./kinds.js";
import { pathText } from "./paths.js";

/**
 * @typedef {import("./format.js").Unit} Unit
 * @typedef {{what: string, hover: string, value: string, u: string, unit: string, model: string, knife: boolean}} Size
 * @typedef {object} Row
 * @property {string} key path of the measure as text
 * @property {string} id
 * @property {string} kind
 * @property {string} label
 * @property {Size[]} sizes
 * @property {string[]} warnings
 * @property {boolean} knife some ± is one that a knife could cut
 */

/** Sizes that a result may carry, in the order shown: key stem, word, hover. */
const LENGTHS = [
  ["width", "wide", "Clear width between the jambs."],
  ["height", "high", "Sill to head; to the crown of an arched head."],
  ["sill", "sill", "Level of the sill above the datum."],
  ["length", "long", "From pick to pick."],
  ["chord", "across", "Straight across the tower; its width runs round it."],
  ["level", "level", "Height above the datum."],
  ["radius", "radius", "Radius of the curve."],
  ["span", "span", "Clear width at the springing."],
  ["rise", "rise", "Springing to crown."],
  ["gauge", "gauge", "One course: brick and joint."],
  ["mean", "mean", "Mean of the row."],
  ["depth", "deep", "Face of the wall to the far end of the edge."],
  ["perimeter", "round", "Length round the outline."],
];

/** Angles that a result may carry, likewise. */
const ANGLES = [
  ["slope", "", "Angle above the level."],
  ["turn", "round", "How far round the tower its middle stands, to the right of its upright."],
];

/** The ± that a knife can cut at model scale. */
export const KNIFE_MM = 0.2;

/**
 * @param {any} result of one measure @param {Unit} unit @param {number} denominator of the scale
 * @returns {Size[]}
 */
export function sizesOf(result, unit, denominator) {
  if (!result) return [];
  /** @type {Size[]} */
  const sizes = [];
  if (result.kind === "courses" && Number.isFinite(result.count)) {
    sizes.push({
      what: result.sure === false ? "not sure" : "", hover: "Courses between the two picks.",
      value: counted(result.count, "course"), u: "", unit: "", model: "", knife: false,
    });
  }
  for (const [stem, word, hover] of LENGTHS) {
    const mm = result[`${stem}_mm`];
    if (typeof mm !== "number") continue;
    const u_mm = result[`u_${stem}_mm`];
    const shown = trueSize(mm, u_mm, unit);
    const model = result[`model_${stem}_mm`] ?? mm / denominator;
    sizes.push({
      what: word, hover, ...shown, model: modelSizeText(model),
      knife: typeof u_mm === "number" && u_mm / denominator > KNIFE_MM,
    });
  }
  for (const [stem, word, hover] of ANGLES) {
    if (typeof result[`${stem}_deg`] !== "number") continue;
    sizes.push({
      what: word, hover, value: angleText(result[`${stem}_deg`], result[`u_${stem}_deg`]),
      u: "", unit: "", model: "", knife: false,
    });
  }
  if (typeof result.area_m2 === "number") {
    sizes.push({
      what: "area", hover: "Area inside the outline.", value: areaText(result.area_m2, unit),
      u: "", unit: "", model: "", knife: false,
    });
  }
  return sizes;
}

/**
 * @param {any} face of the document @param {any} results of that face, or undefined
 * @param {Unit} unit @param {number} denominator
 * @returns {Row[]}
 */
export function rowsOf(face, results, unit, denominator) {
  return (face?.measures ?? []).map((/** @type {any} */ measure) => {
    const result = results?.measures?.[measure.id];
    const sizes = sizesOf(result, unit, denominator);
    return {
      key: pathText(["faces", `@${face.id}`, "measures", `@${measure.id}`]),
      id: measure.id,
      kind: measure.kind,
      label: measure.label || `${MEASURES[measure.kind]?.name ?? ""} ${measure.id}`.trim(),
      sizes,
      warnings: result?.warnings ?? [],
      knife: sizes.some((size) => size.knife),
    };
  });
}

/** The one size written beside a measure on the picture. @param {Row} row */
export function shortSize(row) {
  const one = (/** @type {Size} */ s) => `${s.value}${s.u ? ` ±${s.u}` : ""}`;
  if (row.kind === "opening" && row.sizes.length >= 2) {
    return `${row.sizes[0].value} × ${row.sizes[1].value}`;
  }
  if (row.kind === "outline") return row.sizes.find((s) => s.what === "area")?.value ?? "";
  return row.sizes.length ? one(row.sizes[0]) : "";
}
