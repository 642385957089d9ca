// @ts-check
/** Edits of single picks. Pure: `(doc, …) -> doc`, the same object if nothing changed. */

import { valueAt, withValue, without } from "../paths.js";
import { kindOf } from "../kinds.js";

/** @typedef {import("../paths.js").Path} Path */

/** Hundredths of a pixel are far finer than any pick. @param {number} n */
function hundredth(n) {
  return Math.round(n * 100) / 100;
}

/**
 * A pick as it stands in the file; a hand pick carries no ± of its own.
 * @param {readonly number[]} pointPhoto @param {number | null} [u_px] of a snapped pick
 */
export function makePick(pointPhoto, u_px = null) {
  const pick = [hundredth(pointPhoto[0]), hundredth(pointPhoto[1])];
  return u_px === null ? pick : [...pick, hundredth(Math.max(0.02, u_px))];
}

/**
 * The ± of a pick made by pointing: a pointer steps by whole screen pixels, and zoomed out one of
 * them covers several of the photo. Null where it is no coarser than any pick by hand (1 px).
 * @param {number} scale screen pixels for one photo pixel
 */
export function pointedU(scale) {
  const step = 1 / Math.max(scale, 1e-6);
  // half a step either way, evenly spread: step / sqrt(12)
  const u_px = Math.hypot(1, step / Math.sqrt(12));
  return u_px > 1.2 ? Math.round(u_px * 10) / 10 : null;
}

/** @param {any} doc @param {Path} path @param {readonly number[]} pointPhoto @param {number | null} [u_px] */
export function movePick(doc, path, pointPhoto, u_px = null) {
  return valueAt(doc, path) === undefined ? doc : readAnew(withValue(doc, path, makePick(pointPhoto, u_px)), path);
}

/** Courses whose ends were moved are read again: joints put right by hand were those between the old ends.
 * @param {any} doc @param {Path} path of the pick moved */
function readAnew(doc, path) {
  const courses = path.slice(0, 4);
  return path[4] === "at" && valueAt(doc, courses)?.joints?.length ? withValue(doc, [...courses, "joints"], []) : doc;
}

/** @param {any} doc @param {Path} path @param {readonly number[]} byPhoto */
export function nudgePick(doc, path, byPhoto) {
  const pick = valueAt(doc, path);
  if (!Array.isArray(pick)) return doc;
  return movePick(doc, path, [pick[0] + byPhoto[0], pick[1] + byPhoto[1]]);
}

/**
 * What holds a pick: the group, the kind and the path of the whole thing.
 * @param {any} doc @param {Path} path of a pick
 */
export function ownerOf(doc, path) {
  if (path[0] === "ties") return { group: /** @type {const} */ ("tie"), kind: String(valueAt(doc, path.slice(0, 2))?.kind ?? ""), path: path.slice(0, 4) };
  const list = /** @type {any} */ (path[2]);
  if (list === "frame") return { group: /** @type {const} */ ("frame"), kind: "", path: path.slice(0, 3) };
  if (list === "datum") return { group: /** @type {const} */ ("datum"), kind: "", path: path.slice(0, 3) };
  if (list === "surface") {
    return { group: /** @type {const} */ ("surface"), kind: String(path[3]), path: path.slice(0, path[3] === "returns" ? 5 : 4) };
  }
  const owner = path.slice(0, 4);
  const group = /** @type {"guides" | "references" | "measures"} */ (list);
  return { group, kind: String(valueAt(doc, owner)?.kind ?? ""), path: owner };
}

/** True where a pick can go without taking its whole thing with it. @param {any} doc @param {Path} path */
export function canRemovePick(doc, path) {
  if (path[2] === "datum") return true;
  const list = valueAt(doc, path.slice(0, -1));
  if (!Array.isArray(list)) return false;
  if (path[path.length - 2] === "head_at") return true;
  const owner = ownerOf(doc, path);
  return list.length > kindOf(owner.group, owner.kind).least;
}

/** Remove a pick; where too few would be left, remove the whole thing.
 * @param {any} doc @param {Path} path */
export function removePick(doc, path) {
  if (path[0] === "ties") return without(doc, path.slice(0, 2));
  // a roof slope cannot be without its eaves
  if (path[2] === "surface" && path[3] === "eaves" && !canRemovePick(doc, path)) return without(doc, path.slice(0, 2));
  return canRemovePick(doc, path) ? without(doc, path) : without(doc, ownerOf(doc, path).path);
}
