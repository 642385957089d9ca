// @ts-check
/** Saying what is the same in two photos: walls, levels, plumb lines, points. Pure. */

import { valueAt, withItem, withValue } from "../paths.js";
import { facePath, freshId } from "./things.js";

/** @param {any} doc @param {string} kind @param {{face: string, at: readonly number[]}[]} ends */
export function addTie(doc, kind, ends) {
  const ties = doc.ties ?? [];
  const id = freshId("t", ties.map((/** @type {any} */ tie) => tie.id));
  return withItem({ ...doc, ties }, ["ties"], { id, kind, label: "", at: ends });
}

/** @param {any} doc @param {string} faceId @param {string | null} other a wall in another photo that is the same */
export function setSameAs(doc, faceId, other) {
  return withValue(doc, [...facePath(faceId), "same_as"], other);
}

/** Let go of faces that are no longer there: in ties, and as the same wall. @param {any} doc */
export function dropLooseTies(doc) {
  const photoOf = new Map(doc.faces.map((/** @type {any} */ f) => [f.id, f.photo]));
  const faces = doc.faces.map((/** @type {any} */ f) => (f.same_as && !photoOf.has(f.same_as) ? { ...f, same_as: null } : f));
  if (!doc.ties?.length) return { ...doc, faces };
  const ties = doc.ties
    .map((/** @type {any} */ tie) => ({ ...tie, at: tie.at.filter((/** @type {any} */ end) => photoOf.has(end.face)) }))
    .filter((/** @type {any} */ tie) => new Set(tie.at.map((/** @type {any} */ end) => photoOf.get(end.face))).size > 1);
  return { ...doc, faces, ties };
}

/** The face of another photo that a tie would most likely go to. @param {any} doc @param {any} face */
export function counterpart(doc, face) {
  const others = doc.faces.filter((/** @type {any} */ f) => f.photo !== face?.photo);
  const same = others.find((/** @type {any} */ f) => f.id === face.same_as || f.same_as === face.id);
  return same ?? others.find((/** @type {any} */ f) => f.frame) ?? others[0] ?? null;
}

/** Ties that pick something on a face. @param {any} doc @param {string} faceId @returns {any[]} */
export function tiesOn(doc, faceId) {
  return (doc.ties ?? []).filter((/** @type {any} */ tie) => tie.at.some((/** @type {any} */ end) => end.face === faceId));
}

/** The face that a path leads to, "" if to none. @param {any} doc @param {import("../paths.js").Path} path */
export function faceOfPath(doc, path) {
  if (path[0] === "ties") return valueAt(doc, path.slice(0, 4))?.face ?? "";
  return path[0] === "faces" ? String(path[1]).slice(1) : "";
}
