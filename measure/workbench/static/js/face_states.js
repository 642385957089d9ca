// @ts-check
/** In what state each face is, in a word and a sign, and what was solved of it. Pure. */

import { angleText, trueSizeText } from "./format.js";
import { leansOn } from "./face_kinds.js";

/**
 * @param {any} face of the document @param {any} told of the answer for that face @param {any} trust
 * @returns {{state: "todo" | "next" | "done" | "wrong", says: string}}
 */
export function faceState(face, told, trust) {
  if (!isBegun(face)) return { state: "todo", says: face.surface?.kind === "round" ? "no outline yet" : "no frame yet" };
  if (told?.problem && !told.solved) return { state: "wrong", says: told.problem.message };
  if (!told?.solved) return { state: "next", says: "being worked out" };
  if (!told.sized) return { state: "next", says: "no size yet" };
  if (trust?.state === "coarse") return { state: "next", says: "sized, but only roughly" };
  if (trust?.state === "doubtful") return { state: "wrong", says: "something to look at" };
  return { state: "done", says: trust?.state === "checked" ? "sized and checked" : "sized" };
}

/** @param {any} face */
export function isBegun(face) {
  const { surface } = face;
  if (surface?.kind === "roof") return true;
  if (surface?.kind === "round") return Boolean(surface.left_edge || surface.right_edge || surface.meets_wall);
  return Boolean(face.frame || surface?.hinge || (face.guides ?? []).length > 1);
}

/**
 * What the picks gave of the face itself: a tower's radius, a wing's turn, a roof's pitch.
 * @param {any} face of the document @param {any} result of that face @param {(id: string) => string} nameOf another face
 * @param {import("./format.js").Unit} unit @returns {string} a sentence, or ""
 */
export function solvedSays(face, result, nameOf, unit) {
  if (!result) return "";
  const size = (/** @type {string} */ key) => trueSizeText(Math.abs(result[key]), result[`u_${key}`], unit);
  const side = (/** @type {number} */ mm) => (mm < 0 ? "before" : "behind");
  const beside = leansOn(face);
  const said = [];
  if (result.radius_mm !== undefined) said.push(`radius ${size("radius_mm")}`);
  if (result.axis_set_back_mm !== undefined) said.push(`axis ${size("axis_set_back_mm")} ${side(result.axis_set_back_mm)} ${beside ? nameOf(beside) : "the wall"}`);
  if (result.hinge_deg !== undefined && beside) said.push(`turned ${angleText(Math.abs(result.hinge_deg), result.u_hinge_deg)} from ${nameOf(beside)}`);
  if (result.pitch_deg !== undefined) said.push(`pitch ${angleText(result.pitch_deg, result.u_pitch_deg)}`);
  if (result.set_back_mm !== undefined && beside) said.push(`${size("set_back_mm")} ${side(result.set_back_mm)} ${nameOf(beside)}`);
  return said.length ? `As solved: ${said.join(", ")}.` : "";
}

/** What kind of face it is, in the trade's words. @param {any} face @param {(id: string) => string} nameOf another face */
export function faceKind(face, nameOf) {
  const { surface } = face;
  if (surface?.kind === "round") return surface.beside ? `round tower beside ${nameOf(surface.beside)}` : "round tower";
  if (surface?.kind === "roof") return `roof slope above ${nameOf(surface.eaves.face)}`;
  if (surface?.parallel_to) return `wall parallel to ${nameOf(surface.parallel_to)}`;
  if (surface?.hinge) return `wing hinged on ${nameOf(surface.hinge.face)}`;
  return face.same_as ? `the same wall as ${nameOf(face.same_as)}` : "wall";
}
