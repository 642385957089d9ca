// @ts-check
/**
 * Places of parts on their sheets: trying them, keeping them, letting them go. Pure.
 *
 * Frame: millimetres of the free area of a sheet, (0, 0) at its lower left corner, y up. A part's
 * outline counts from the lower left corner of its own box.
 *
 * @typedef {{mark: string, copy_number: number, name: string, left_mm: number, bottom_mm: number, quarters: number, turns: number[], pinned: boolean, outline_mm: number[][][]}} LaidPart
 * @typedef {{name: string, material: string, number: number, paper_mm: number[], area_mm: number[], parts: LaidPart[], svg: string | null, marks: string[]}} LaidSheet
 */

import { distanceToSegment } from "../geometry.js";
import { cardOf, setCard } from "./card.js";

/** How near to the margin or the next part a part is drawn to it, in mm. */
const DRAWN_TO_MM = 1.5;
/** Outlines of neighbours are told to a fiftieth of a millimetre, so they may seem so much too near. */
const SLACK_MM = 0.05;

/** @param {{mark: string, copy_number: number}} part */
export const nameOf = (part) => `${part.mark}/${part.copy_number}`;

/** @param {LaidPart} part @returns {{width: number, height: number}} */
export function sizeOf(part) {
  const all = part.outline_mm.flat();
  return { width: Math.max(...all.map((p) => p[0])), height: Math.max(...all.map((p) => p[1])) };
}

/** The part at the next turn that its grain allows, about the middle of its box. @param {LaidPart} part @returns {LaidPart} */
export function turnedOn(part) {
  const next = part.turns[(part.turns.indexOf(part.quarters) + 1) % part.turns.length];
  let now = part;
  for (let n = (next - part.quarters + 4) % 4; n > 0; n -= 1) now = quarterTurned(now);
  return { ...now, quarters: next };
}

/** @param {LaidPart} part @returns {LaidPart} */
function quarterTurned(part) {
  const { width, height } = sizeOf(part);
  const outline_mm = part.outline_mm.map((ring) => ring.map(([x, y]) => [height - y, x]));
  return { ...part, outline_mm, left_mm: part.left_mm + (width - height) / 2, bottom_mm: part.bottom_mm + (height - width) / 2 };
}

/** @param {LaidPart} part @param {number} dx @param {number} dy @returns {LaidPart} */
export const shifted = (part, dx, dy) => ({ ...part, left_mm: part.left_mm + dx, bottom_mm: part.bottom_mm + dy });

/** A part a little over the margin is drawn back to it. @param {LaidPart} part @param {LaidSheet} sheet @returns {LaidPart} */
export function drawnIn(part, sheet) {
  const { width, height } = sizeOf(part);
  const most = [sheet.area_mm[2] - width, sheet.area_mm[3] - height];
  const inwards = (/** @type {number} */ at, /** @type {number} */ limit) => (at < 0 && at > -DRAWN_TO_MM ? 0 : at > limit && at < limit + DRAWN_TO_MM ? limit : at);
  return { ...part, left_mm: inwards(part.left_mm, most[0]), bottom_mm: inwards(part.bottom_mm, most[1]) };
}

/** Why a part cannot lie there, in one sentence; empty where it can. @param {LaidPart} part @param {LaidSheet} sheet @param {number} spacing_mm */
export function faultOf(part, sheet, spacing_mm) {
  const { width, height } = sizeOf(part);
  const { left_mm: x, bottom_mm: y } = part;
  if (x < -1e-6 || y < -1e-6 || x + width > sheet.area_mm[2] + SLACK_MM || y + height > sheet.area_mm[3] + SLACK_MM) return `${part.mark} lies beyond the margin.`;
  const outline = placed(part);
  // loose parts make way: they are laid anew around what is pinned
  for (const other of sheet.parts) {
    if (!other.pinned || nameOf(other) === nameOf(part)) continue;
    const size = sizeOf(other);
    const far = Math.max(other.left_mm - x - width, x - other.left_mm - size.width, other.bottom_mm - y - height, y - other.bottom_mm - size.height);
    if (far < spacing_mm && tooNear(outline, placed(other), spacing_mm - SLACK_MM)) return `${part.mark} lies on ${other.mark}, or less than ${spacing_mm} mm from it.`;
  }
  return "";
}

/** @param {LaidPart} part */
const placed = (part) => part.outline_mm.map((ring) => ring.map(([x, y]) => [x + part.left_mm, y + part.bottom_mm]));

/** Whether outlines cross, lie in each other or come nearer than that. @param {number[][][]} one @param {number[][][]} other @param {number} least */
export function tooNear(one, other, least) {
  for (const a of one) {
    for (const b of other) {
      if (holds(a, b[0]) || holds(b, a[0])) return true;
      for (let i = 1; i < a.length; i += 1) for (let j = 1; j < b.length; j += 1) if (apart(a[i - 1], a[i], b[j - 1], b[j]) < least) return true;
    }
  }
  return false;
}

/** @param {number[][]} ring @param {number[]} p */
function holds(ring, [x, y]) {
  let inside = false;
  for (let i = 1; i < ring.length; i += 1) {
    const [[ax, ay], [bx, by]] = [ring[i - 1], ring[i]];
    if (ay > y !== by > y && x < ax + ((y - ay) / (by - ay)) * (bx - ax)) inside = !inside;
  }
  return inside;
}

/** Distance of two straight lines, 0 where they cross. @param {number[]} a @param {number[]} b @param {number[]} c @param {number[]} d */
function apart(a, b, c, d) {
  const side = (/** @type {number[]} */ p, /** @type {number[]} */ q, /** @type {number[]} */ r) => (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
  if (side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0) return 0;
  return Math.min(distanceToSegment(a, c, d), distanceToSegment(b, c, d), distanceToSegment(c, a, b), distanceToSegment(d, a, b));
}

/** Sheets of one material as they are, and one more. @param {readonly any[]} sheets @param {string} material @returns {LaidSheet[]} */
export function sheetsOf(sheets, material) {
  const own = sheets.filter((sheet) => sheet.material === material);
  const last = own[own.length - 1];
  return last ? [...own, { ...last, name: `A further sheet: ${last.name.split(": ")[1]}`, number: last.number + 1, parts: [], marks: [], svg: null }] : [];
}

const rounded = (/** @type {number} */ mm) => Math.round(mm * 1000) / 1000;

/** @param {LaidPart} part @param {number} sheet */
const pinOf = (part, sheet) => ({ mark: part.mark, copy_number: part.copy_number, sheet, left_mm: rounded(part.left_mm), bottom_mm: rounded(part.bottom_mm), quarters: part.quarters });

/** @param {any} doc @param {LaidPart} part where it lies @param {number} sheet of its material */
export function pinPart(doc, part, sheet) {
  const others = cardOf(doc).pinned.filter((/** @type {any} */ pin) => nameOf(pin) !== nameOf(part));
  return setCard(doc, "pinned", [...others, pinOf(part, sheet)]);
}

/** @param {any} doc @param {{mark: string, copy_number: number}} part */
export function letGo(doc, part) {
  const { pinned } = cardOf(doc);
  const left = pinned.filter((/** @type {any} */ pin) => nameOf(pin) !== nameOf(part));
  return left.length === pinned.length ? doc : setCard(doc, "pinned", left);
}

/** @param {any} doc @param {readonly any[]} sheets as they were laid */
export function pinAll(doc, sheets) {
  return setCard(doc, "pinned", sheets.flatMap((sheet) => (sheet.parts ?? []).map((/** @type {LaidPart} */ part) => pinOf(part, sheet.number))));
}

/** @param {any} doc */
export const letAllGo = (doc) => (cardOf(doc).pinned.length ? setCard(doc, "pinned", []) : doc);

/** One more part of that mark is left out; its place goes, and later copies move up. @param {any} doc @param {{mark: string, copy_number: number}} part */
export function leaveOut(doc, part) {
  const { left_out, pinned } = cardOf(doc);
  const before = left_out.find((/** @type {any} */ one) => one.mark === part.mark);
  const others = left_out.filter((/** @type {any} */ one) => one !== before);
  const after = pinned.filter((/** @type {any} */ pin) => nameOf(pin) !== nameOf(part))
    .map((/** @type {any} */ pin) => (pin.mark === part.mark && pin.copy_number > part.copy_number ? { ...pin, copy_number: pin.copy_number - 1 } : pin));
  return setCard(setCard(doc, "pinned", after), "left_out", [...others, { mark: part.mark, copies: (before?.copies ?? 0) + 1 }]);
}

/** Every part of that mark is cut again. @param {any} doc @param {string} mark */
export const putBack = (doc, mark) => setCard(doc, "left_out", cardOf(doc).left_out.filter((/** @type {any} */ one) => one.mark !== mark));

/** Whether two states of a survey differ in nothing but pinned places and parts left out: then the sheets are laid out anew by themselves. @param {any} one @param {any} other */
export function onlyLayingDiffers(one, other) {
  const same = (/** @type {any} */ a, /** @type {any} */ b, /** @type {string[]} */ ...but) => [...new Set([...Object.keys(a), ...Object.keys(b)])].every((key) => but.includes(key) || a[key] === b[key]);
  return one !== other && same(one, other, "card") && same(cardOf(one), cardOf(other), "pinned", "left_out");
}
