// @ts-check
/**
 * Mirroring and repeating openings by handles: what is in hand, and the wish that it would
 * become. Places are on the chart of the face, in millimetres of the building. Pure.
 *
 * @typedef {{what: "picked" | "given" | "opening" | "between" | "found" | "middle", at_mm: number, says: Record<string, any>}} Axis
 * @typedef {{id: string, label: string, box_mm: number[], inferred: boolean}} Place
 * @typedef {{origin_mm: number, wall_mm: number[], openings: Place[], axes: Axis[], spacing_mm: number | null, paths: string[] | null}} Told
 * @typedef {{spacing_mm: number, says: number | null, name: string}} Spacing
 * @typedef {{offered: string[], made: {id: string, box_mm: number[]}[], notes: string[]}} Trial
 * @typedef {"mirror" | "left" | "right"} Does mirror openings, or keep that half
 * @typedef {{kind: "axis", does: Does, at_mm: number, onto: Axis | null}} AxisInHand
 * @typedef {{kind: "bay", side: "left" | "right", along_mm: number, count: number, onto: Spacing | null}} BayInHand along_mm: to the first copy, to the left below 0
 * @typedef {AxisInHand | BayInHand} InHand
 */

import { counted, trueSize } from "../format.js";
import { screenFromSheet } from "../view_transform.js";

/** @typedef {import("../format.js").Unit} Unit */

/** A length in hand: whole millimetres bare. @param {number} mm @param {Unit} unit */
export function lengthText(mm, unit) {
  const shown = trueSize(mm, null, unit);
  return `${shown.value.replace(/\.0$/, "")}${shown.unit ? `\u202f${shown.unit}` : ""}`;
}

/** A spacing of nothing is refused in words, but no wish has it. */
const LEAST_SPACING_MM = 0.1;
const MOST_COPIES = 200;

/** Box round the openings chosen. @param {Told} told @param {readonly string[]} of @returns {number[] | null} left, bottom, right, top */
export function bayBox(told, of) {
  const boxes = told.openings.filter((one) => of.includes(one.id)).map((one) => one.box_mm);
  if (!boxes.length) return null;
  return [0, 1, 2, 3].map((i) => (i < 2 ? Math.min : Math.max)(...boxes.map((box) => box[i])));
}

/** The smallest opening at a place: a light stands within its door. @param {Told} told @param {readonly number[]} at @param {number} slack_mm @returns {Place | null} */
export function openingAt(told, [u, v], slack_mm) {
  const area = ({ box_mm: [left, bottom, right, top] }) => (right - left) * (top - bottom);
  const here = told.openings.filter(({ box_mm: [left, bottom, right, top] }) => u >= left - slack_mm && u <= right + slack_mm && v >= bottom - slack_mm && v <= top + slack_mm);
  return here.reduce((/** @type {Place | null} */ best, one) => (best && area(best) <= area(one) ? best : one), null);
}

/** Choose one, or with `more` one more or one less. @param {readonly string[]} of @param {string | null} id @param {boolean} more @returns {string[]} */
export function chosenWith(of, id, more) {
  if (id === null) return more ? [...of] : [];
  if (!more) return [id];
  return of.includes(id) ? of.filter((one) => one !== id) : [...of, id];
}

/** @param {Told} told @param {string} id */
export function openingName(told, id) {
  return told.openings.find((one) => one.id === id)?.label ?? id;
}

/** "the centre line of Street door". @param {Axis | null} axis @param {Told} told */
export function axisName(axis, told) {
  if (!axis) return "";
  const of = (axis.says.axis_of ?? []).map((/** @type {string} */ id) => openingName(told, id));
  return { picked: "the axis picked", given: "the axis given before", opening: `the centre line of ${of[0]}`, between: `midway between ${of.join(" and ")}`, found: "the axis found from what repeats", middle: "the middle of the wall" }[axis.what];
}

/** Where an axis begins: found from what repeats, else the middle of the wall. @param {Told} told @returns {Axis} */
export const firstAxis = (told) => /** @type {Axis} */ (told.axes.find((axis) => axis.what === "found") ?? told.axes.find((axis) => axis.what === "middle") ?? told.axes[0]);

/** Where the axis stands, in hand or not. @param {Told} told @param {InHand | null} held */
export const axisPlace = (told, held) => (held?.kind === "axis" ? held.at_mm : firstAxis(told).at_mm);

/** From a jamb to the middle of its arrow, and over the last copy to its count. */
export const ARROW_PX = 24;

/**
 * Where handles stand on the screen: the axis over the wall, arrows beside what is chosen; of a bay
 * in hand one arrow beside its first copy, and the count over its last.
 * @param {Told} told @param {readonly string[]} of @param {InHand | null} held
 * @param {import("../view_transform.js").View} view @param {{width: number, height: number}} size
 * @returns {{which: "axis" | "left" | "right" | "count", at: [number, number]}[]}
 */
export function handleSpots(told, of, held, view, size) {
  /** @type {ReturnType<typeof handleSpots>} */
  const found = [];
  if (held?.kind !== "bay") {
    const [x, top] = screenFromSheet(view, [axisPlace(told, held), -told.wall_mm[3]]);
    found.push({ which: "axis", at: [x, Math.max(60, Math.min(size.height - 40, top - ARROW_PX))] });
  }
  const box = bayBox(told, of);
  if (!box || held?.kind === "axis") return found;
  const [left, top] = screenFromSheet(view, [box[0], -box[3]]);
  const [right, low] = screenFromSheet(view, [box[2], -box[1]]);
  const along = held ? held.along_mm * view.scale : 0;
  if (held?.side !== "right") found.push({ which: "left", at: [left - ARROW_PX + along, (top + low) / 2] });
  if (held?.side !== "left") found.push({ which: "right", at: [right + ARROW_PX + along, (top + low) / 2] });
  if (held) found.push({ which: "count", at: [(left + right) / 2 + along * Math.max(1, held.count), top - ARROW_PX] });
  return found;
}

/** Spacings worth snapping to: the one measured, and those that stand over another opening. @param {Told} told @param {readonly string[]} of @param {1 | -1} way @returns {Spacing[]} */
export function spacings(told, of, way) {
  const box = bayBox(told, of);
  if (!box) return [];
  const middle = (box[0] + box[2]) / 2;
  const found = told.spacing_mm === null ? [] : [{ spacing_mm: told.spacing_mm, says: null, name: "as measured" }];
  for (const axis of told.axes) {
    if (axis.what !== "opening" || of.includes(axis.says.axis_of[0])) continue;
    const spacing_mm = (axis.at_mm - middle) * way;
    if (spacing_mm >= box[2] - box[0]) found.push({ spacing_mm, says: Math.round(spacing_mm * 1000) / 1000, name: `onto ${axisName(axis, told)}` });
  }
  return found;
}

/** The nearest within reach. @template T @param {readonly T[]} all @param {(one: T) => number} at @param {number} value @param {number} reach @returns {T | null} */
export function nearestOf(all, at, value, reach) {
  const near = all.filter((one) => Math.abs(at(one) - value) <= reach);
  return near.reduce((/** @type {T | null} */ best, one) => (best && Math.abs(at(best) - value) <= Math.abs(at(one) - value) ? best : one), null);
}

/** The next one beyond a value. @template T @param {readonly T[]} all @param {(one: T) => number} at @param {number} value @param {1 | -1} by @returns {T | null} */
export function nextOf(all, at, value, by) {
  return nearestOf(all.filter((one) => (at(one) - value) * by > 0.5), at, value, Infinity);
}

/** The axis at a place, to whole millimetres from the left edge, or drawn to one that is near. @param {AxisInHand} held @param {Told} told @param {number} at_mm @param {number} reach_mm @returns {AxisInHand} */
export function axisTo(held, told, at_mm, reach_mm) {
  const onto = nearestOf(told.axes, (axis) => axis.at_mm, at_mm, reach_mm);
  return { ...held, at_mm: onto ? onto.at_mm : told.origin_mm + Math.round(at_mm - told.origin_mm), onto };
}

/** The first copy so far along, or drawn to a spacing that is near. @param {BayInHand} held @param {Told} told @param {readonly string[]} of @param {number} along_mm @param {number} reach_mm @returns {BayInHand} */
export function bayTo(held, told, of, along_mm, reach_mm) {
  const way = along_mm < 0 ? -1 : 1;
  const onto = nearestOf(spacings(told, of, way), (one) => one.spacing_mm, along_mm * way, reach_mm);
  return { ...held, along_mm: onto ? onto.spacing_mm * way : Math.round(along_mm), onto };
}

/** Copies up to a place along the wall. @param {BayInHand} held @param {number} reach_mm from the bay, as `along_mm` counts @returns {BayInHand} */
export function bayUpTo(held, reach_mm) {
  const count = held.along_mm ? Math.round(reach_mm / held.along_mm) : 1;
  return { ...held, count: Math.min(MOST_COPIES, Math.max(0, count)) };
}

/** One copy more or less; none is refused in words. @param {BayInHand} held @param {number} by @returns {BayInHand} */
export const counting = (held, by) => ({ ...held, count: Math.min(MOST_COPIES, Math.max(0, held.count + by)) });

/** Where a bay begins without a pointer: at the spacing measured, else with a gap of half its width. @param {Told} told @param {readonly string[]} of @param {"left" | "right"} side @returns {BayInHand} */
export function firstBay(told, of, side) {
  const way = side === "left" ? -1 : 1;
  const box = bayBox(told, of) ?? [0, 0, 0, 0];
  const [onto] = told.spacing_mm === null ? [null] : spacings(told, of, way);
  return { kind: "bay", side, along_mm: way * (onto ? onto.spacing_mm : Math.round(1.5 * (box[2] - box[0]))), count: 1, onto };
}

/** The completion that it would become. @param {InHand} held @param {readonly string[]} of @param {Told} told @returns {any} */
export function wishOf(held, of, told) {
  if (held.kind === "bay") {
    const spacing_mm = held.onto ? held.onto.says : Math.max(LEAST_SPACING_MM, Math.round(Math.abs(held.along_mm) * 10) / 10);
    return { kind: "repeat", of: [...of], count: Math.max(1, held.count), spacing_mm, towards: held.along_mm < 0 ? "left" : "right", push: false };
  }
  const axis = { axis_of: [], ...(held.onto ? held.onto.says : { axis_mm: Math.round((held.at_mm - told.origin_mm) * 10) / 10 }) };
  return held.does === "mirror" ? { kind: "mirror", of: [...of], ...axis } : { kind: "half", keep: held.does, ...axis };
}

/** @param {readonly string[]} of @param {Told} told */
const chosenName = (of, told) => (of.length === 1 ? openingName(told, of[0]) : of.length ? counted(of.length, "opening") : "openings");

/** As undo names it. @param {InHand} held @param {readonly string[]} of @param {Told} told */
export function deedName(held, of, told) {
  if (held.kind === "bay") return `repeat ${chosenName(of, told)}`;
  return held.does === "mirror" ? `mirror ${chosenName(of, told)}` : `restore the ${held.does === "left" ? "right" : "left"} half`;
}

/** What it would make, in one sentence. @param {InHand} held @param {readonly string[]} of @param {Told} told @param {Trial | null} trial @param {Unit} unit */
export function offerSentence(held, of, told, trial, unit) {
  const made = trial ? counted(trial.made.length, "opening") : "";
  if (held.kind === "bay") {
    const spacing = `${lengthText(Math.abs(held.along_mm), unit)} to the ${held.along_mm < 0 ? "left" : "right"}`;
    const name = chosenName(of, told);
    return `${name[0].toUpperCase()}${name.slice(1)} ${held.count === 1 ? "once more, " : `${held.count} times more, every `}${spacing}${held.onto ? `, ${held.onto.name}` : ""}${made ? `: ${made} new` : ""}.`;
  }
  const about = `about ${held.onto ? axisName(held.onto, told) : `${lengthText(held.at_mm - told.origin_mm, unit)} from the left edge`}`;
  if (held.does === "mirror") return `${made ? `${made} mirrored` : "Mirrored"} ${about}.`;
  return `The ${held.does === "left" ? "right" : "left"} half as the mirror of the ${held.does}, ${about}${made ? `: ${made} new` : ""}.`;
}

/** Words in rows of at most so many letters. @param {string} text @param {number} most @returns {string[]} */
export function inRows(text, most) {
  const rows = [""];
  for (const word of text.split(" ")) {
    const longer = rows[rows.length - 1] ? `${rows[rows.length - 1]} ${word}` : word;
    if (longer.length <= most || !rows[rows.length - 1]) rows[rows.length - 1] = longer;
    else rows.push(word);
  }
  return rows;
}
