// @ts-check
/** The brick that a wall is laid of: what there is to weigh it by, and choosing one. Pure. */

import { valueAt, withValue } from "../paths.js";
import { facePath } from "./things.js";

/** How many courses somebody or the program counted, null where nobody did. @param {any} measure @param {any} result of it */
function countOf(measure, result) {
  if (measure.joints?.length) return measure.joints.length - 1;
  return measure.count ?? (result?.sure ? result.count : null);
}

/** Courses of a face that a brick can be told from. @param {any} face @param {any} results of that face @returns {any[]} references, else measures */
export function countedCourses(face, results) {
  const references = (face?.references ?? []).filter((/** @type {any} */ r) => r.kind === "courses");
  if (references.length) return references;
  return (face?.measures ?? []).filter((/** @type {any} */ m) => m.kind === "courses" && countOf(m, results?.measures?.[m.id]) != null);
}

/** The document with counts that the program is sure of written down, to be weighed by. @param {any} doc @param {string} faceId @param {any} results of that face */
export function withReadCounts(doc, faceId, results) {
  const measures = valueAt(doc, [...facePath(faceId), "measures"]) ?? [];
  return withValue(doc, [...facePath(faceId), "measures"], measures.map((/** @type {any} */ m) => (
    m.kind === "courses" && m.count == null && !m.joints?.length ? { ...m, count: countOf(m, results?.measures?.[m.id]) } : m)));
}

/**
 * Take a format: known courses get its gauge; where there are none, the counted courses become a known size.
 * @param {any} doc @param {string} faceId @param {{key: string, name: string, gauge_mm: number, u_gauge_mm: number}} format @param {any} results of that face
 */
export function chooseFormat(doc, faceId, { key, name, gauge_mm, u_gauge_mm }, results) {
  const path = [...facePath(faceId), "references"];
  const face = valueAt(doc, facePath(faceId));
  const known = { gauge_mm, u_gauge_mm, label: name, size: key };
  const counted = countedCourses(face, results);
  if (!counted.length) return doc;
  const references = face.references ?? [];
  if (references.some((/** @type {any} */ r) => r.kind === "courses")) {
    return withValue(doc, path, references.map((/** @type {any} */ r) => (r.kind === "courses" ? { ...r, ...known } : r)));
  }
  const made = counted.map((m) => {
    const ends = m.joints?.length ? [m.joints[0], m.joints[m.joints.length - 1]] : m.at;
    return { kind: "courses", at: ends, count: countOf(m, results?.measures?.[m.id]), set_back_mm: m.set_back_mm ?? 0, ...known };
  });
  return withValue(doc, path, [...references, ...made]);
}

/** The format that the known courses of a face go by, if any. @param {any} face @returns {string | null} */
export function formatOf(face) {
  return (face?.references ?? []).find((/** @type {any} */ r) => r.kind === "courses")?.size ?? null;
}
