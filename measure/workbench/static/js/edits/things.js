// @ts-check
/** Edits that add, change, copy and remove whole things of a face. Pure. */

import { MEASURES } from "../kinds.js";
import { valueAt, withItem, withValue, without } from "../paths.js";
import { makePick } from "./picks.js";

/** @typedef {import("../paths.js").Path} Path */

/** @param {string} faceId @returns {Path} */
export function facePath(faceId) {
  return ["faces", `@${faceId}`];
}

/** @param {string} stem @param {readonly string[]} taken @returns {string} "w1", "w2", … */
export function freshId(stem, taken) {
  for (let n = 1; ; n += 1) if (!taken.includes(`${stem}${n}`)) return `${stem}${n}`;
}

/** @param {any} doc @param {string} faceId @returns {string[]} */
function measureIds(doc, faceId) {
  return (valueAt(doc, [...facePath(faceId), "measures"]) ?? []).map((/** @type {any} */ m) => m.id);
}

/** @param {any} doc @param {string} faceId @param {readonly number[][]} picks */
export function setFrame(doc, faceId, picks) {
  return withValue(doc, [...facePath(faceId), "frame"], picks);
}

/** @param {any} doc @param {string} faceId @param {string} kind @param {readonly number[][]} picks */
export function addGuide(doc, faceId, kind, picks) {
  return withItem(doc, [...facePath(faceId), "guides"], { kind, at: picks });
}

/**
 * @param {any} doc @param {string} faceId @param {string} kind @param {readonly number[][]} picks
 * @param {Record<string, any>} known length_mm, u_mm, size, label … or count, gauge_mm …
 */
export function addReference(doc, faceId, kind, picks, known) {
  return withItem(doc, [...facePath(faceId), "references"], { kind, at: picks, ...known });
}

/**
 * @param {any} doc @param {string} faceId @param {string} kind @param {readonly number[][]} picks
 * @param {Record<string, any>} [fields]
 * @returns {{doc: any, path: Path}}
 */
export function addMeasure(doc, faceId, kind, picks, fields = {}) {
  const id = freshId(MEASURES[kind].stem, measureIds(doc, faceId));
  const measure = { id, kind, label: id.toUpperCase(), at: picks, ...fields };
  const list = [...facePath(faceId), "measures"];
  return { doc: withItem(doc, list, measure), path: [...list, `@${id}`] };
}

/** @param {any} doc @param {Path} path @param {string} label */
export function nameThing(doc, path, label) {
  return withValue(doc, [...path, "label"], label.slice(0, 400));
}

/** @param {any} doc @param {Path} path @param {string} field @param {any} value */
export function setField(doc, path, field, value) {
  return valueAt(doc, path) == null ? doc : withValue(doc, [...path, field], value);
}

/** Change the head of an opening; picks that belonged to another shape go.
 * @param {any} doc @param {Path} path @param {string} head */
export function setHead(doc, path, head) {
  const opening = valueAt(doc, path);
  if (!opening || (opening.head ?? "flat") === head) return doc;
  const { head_at: _old, ...rest } = opening;
  return withValue(doc, path, { ...rest, head });
}

/** @param {any} doc @param {Path} path @param {readonly number[][]} picks */
export function setHeadPicks(doc, path, picks) {
  return withValue(doc, [...path, "head_at"], picks);
}

/** @param {any} doc @param {Path} path */
export function removeThing(doc, path) {
  return without(doc, path);
}

/** @param {any} doc @param {string} faceId @param {readonly number[]} pick */
export function setDatum(doc, faceId, pick) {
  return withValue(doc, [...facePath(faceId), "datum"], pick);
}

/**
 * A second measure like the first, with its picks elsewhere.
 * @param {any} doc @param {Path} path of the measure
 * @param {readonly (readonly number[])[]} at new picks, in photo pixels
 * @param {readonly (readonly number[])[]} headAt
 * @returns {{doc: any, path: Path}}
 */
export function copyMeasure(doc, path, at, headAt = []) {
  const from = valueAt(doc, path);
  if (!from) return { doc, path };
  const list = path.slice(0, 3);
  const faceId = String(path[1]).slice(1);
  const id = freshId(MEASURES[from.kind].stem, measureIds(doc, faceId));
  const copy = { ...from, id, label: id.toUpperCase(), at: at.map((p) => makePick(p)) };
  if (from.kind === "courses") copy.joints = [];
  if (headAt.length) copy.head_at = headAt.map((p) => makePick(p));
  return { doc: withItem(doc, list, copy), path: [...list, `@${id}`] };
}
