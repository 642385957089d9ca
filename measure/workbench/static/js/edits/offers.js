// @ts-check
/** Taking what the program found in the photo: guides all at once, openings one by one. Pure. */

import { withItem, withValue, valueAt } from "../paths.js";
import { facePath, freshId } from "./things.js";

/** Found guides of the answer in place of those found before, face by face. @param {any} doc @param {Record<string, any[]>} guides by face */
export function keepGuides(doc, guides) {
  return Object.entries(guides).reduce((now, [face, found]) => {
    const before = valueAt(now, [...facePath(face), "guides"]);
    if (!Array.isArray(before)) return now;
    return withValue(now, [...facePath(face), "guides"], [...before.filter((one) => !one.found), ...found]);
  }, doc);
}

/** Take every found guide of a photo out again. @param {any} doc @param {string} photoId */
export function dropGuides(doc, photoId) {
  const faces = doc.faces.map((/** @type {any} */ face) => (face.photo === photoId && (face.guides ?? []).some((/** @type {any} */ g) => g.found) ? { ...face, guides: face.guides.filter((/** @type {any} */ g) => !g.found) } : face));
  return { ...doc, faces };
}

/** @param {any} doc @param {string} photoId how many guides were found in it and kept */
export function countFound(doc, photoId) {
  return doc.faces.filter((/** @type {any} */ f) => f.photo === photoId).reduce((/** @type {number} */ n, /** @type {any} */ f) => n + (f.guides ?? []).filter((/** @type {any} */ g) => g.found).length, 0);
}

/** Take up openings that were proposed, each under an id that is free. @param {any} doc @param {string} faceId @param {readonly any[]} openings */
export function keepOpenings(doc, faceId, openings) {
  const list = [...facePath(faceId), "measures"];
  return openings.reduce((now, opening) => {
    const taken = (valueAt(now, list) ?? []).map((/** @type {any} */ m) => m.id);
    const id = taken.includes(opening.id) ? freshId("w", taken) : opening.id;
    return withItem(now, list, { ...opening, id, label: opening.label || id.toUpperCase() });
  }, doc);
}
