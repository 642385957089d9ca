// @ts-check
/** Edits of what the drawing of a face has beyond what was measured. Pure. */

import { valueAt, withValue } from "../paths.js";
import { COMPLETIONS, DETAILS, openingsOf } from "../wishes_spec.js";
import { facePath } from "./things.js";

/** @typedef {"details" | "completions"} WishList */

/** @param {WishList} list */
export const specsOf = (list) => (list === "details" ? DETAILS : COMPLETIONS);

/** @param {any} doc @param {string} faceId @returns {any} */
export function drawingOf(doc, faceId) {
  return valueAt(doc, [...facePath(faceId), "drawing"]) ?? {};
}

/** @param {any} doc @param {string} faceId @param {string} field @param {any} value */
export function setDrawing(doc, faceId, field, value) {
  return withValue(doc, [...facePath(faceId), "drawing"], { ...drawingOf(doc, faceId), [field]: value });
}

/**
 * A wish with values that stand until they are changed. Null where it wants what the face lacks.
 * @param {any} face @param {WishList} list @param {string} kind @param {readonly number[] | null} pick
 */
export function makeWish(face, list, kind, pick) {
  const spec = specsOf(list)[kind];
  const openings = openingsOf(face);
  if (spec.wants === "opening" && !openings.length) return null;
  /** @type {any} */
  const wish = { kind, ...spec.start };
  const needs = spec.fields.find((field) => field.type === "openings" && field.least);
  if (needs) {
    const doors = openings.filter((one) => /door|entrance|gate/i.test(one.label));
    wish[needs.key] = [(kind === "door-panels" && doors[0] ? doors[0] : openings[0]).id];
  }
  if ("axis_of" in wish) wish.axis_of = middleOpening(face);
  if (kind === "course-lines") {
    const courses = (face.measures ?? []).find((/** @type {any} */ m) => m.kind === "courses");
    if (courses) Object.assign(wish, { measure: courses.id, gauge_mm: null });
  }
  if (kind === "copy") {
    if (!openings.length) return null;
    wish.of = openings[0].id;
  }
  if (spec.fields.some((field) => field.type === "pick")) {
    if (!pick) return null;
    wish.at = pick;
  }
  return wish;
}

/** What a wish is called in a list: what it is, and of which openings. @param {any} face @param {WishList} list @param {any} wish */
export function wishName(face, list, wish) {
  const spec = specsOf(list)[wish.kind];
  const of = spec.fields.filter((field) => field.key === "of").flatMap((field) => wish[field.key] ?? []);
  const names = of.map((/** @type {string} */ id) => openingsOf(face).find((one) => one.id === id)?.label ?? id);
  if (!names.length) return spec.name;
  return `${spec.name}: ${names.slice(0, 2).join(", ")}${names.length > 2 ? ` and ${names.length - 2} more` : ""}`;
}

/** The opening nearest to the middle of all of them: the likeliest to stand on an axis. @param {any} face @returns {string[]} */
function middleOpening(face) {
  const across = (/** @type {any} */ m) => m.at.reduce((/** @type {number} */ sum, /** @type {number[]} */ p) => sum + p[0], 0) / m.at.length;
  const all = face.measures.filter((/** @type {any} */ m) => m.kind === "opening").map((/** @type {any} */ m) => ({ id: m.id, x: across(m) }));
  const xs = all.map((/** @type {any} */ one) => one.x);
  const middle = (Math.min(...xs) + Math.max(...xs)) / 2;
  return [all.reduce((/** @type {any} */ best, /** @type {any} */ one) => (Math.abs(one.x - middle) < Math.abs(best.x - middle) ? one : best)).id];
}

/** @param {any} doc @param {string} faceId @param {WishList} list @param {any} wish */
export function addWish(doc, faceId, list, wish) {
  return setDrawing(doc, faceId, list, [...(drawingOf(doc, faceId)[list] ?? []), wish]);
}

/** @param {any} doc @param {string} faceId @param {WishList} list @param {number} index */
export function removeWish(doc, faceId, list, index) {
  return setDrawing(doc, faceId, list, drawingOf(doc, faceId)[list].filter((/** @type {any} */ _, /** @type {number} */ i) => i !== index));
}

/** @param {any} doc @param {string} faceId @param {WishList} list @param {number} index @param {Record<string, any>} patch */
export function changeWish(doc, faceId, list, index, patch) {
  const wishes = drawingOf(doc, faceId)[list];
  return setDrawing(doc, faceId, list, wishes.map((/** @type {any} */ one, /** @type {number} */ i) => (i === index ? { ...one, ...patch } : one)));
}

/** An axis is given one way: what a change says of it takes the other ways back. @param {Record<string, any>} patch */
export function withOneAxis(patch) {
  if (patch.axis_of?.length) return { axis_mm: null, axis_at: null, ...patch };
  if (patch.axis_at) return { axis_of: [], axis_mm: null, ...patch };
  return patch.axis_mm == null ? patch : { axis_of: [], axis_at: null, ...patch };
}

/** Tick or untick one opening of a list; the last one stays where one at least is wanted, the latest where so many may be.
 * @param {readonly string[]} now @param {string} id @param {boolean} wanted @param {number} least @param {number} [most] */
export function ticked(now, id, wanted, least, most = Infinity) {
  const next = wanted ? [...now.filter((one) => one !== id), id] : now.filter((one) => one !== id);
  return next.length >= least ? next.slice(-most) : [...now];
}
