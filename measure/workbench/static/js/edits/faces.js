// @ts-check
/** Edits of faces and of the survey as a whole. Pure. */

import { valueAt, withItem, withValue, without } from "../paths.js";
import { FACE_KINDS, isFlat, wallsOf } from "../face_kinds.js";
import { facePath, freshId } from "./things.js";
import { dropLooseTies } from "./ties.js";

/**
 * @param {any} doc @param {import("../face_kinds.js").FaceKind} kind @param {string} beside id of the face it joins
 * @param {string} [inPhoto] id of the photo; that of its neighbour if left out
 * @param {readonly number[][]} [picks] of the line that it joins by, for the kinds that begin with one
 * @returns {{doc: any, id: string}}
 */
export function addFace(doc, kind, beside, inPhoto, picks = []) {
  const taken = doc.faces.map((/** @type {any} */ f) => f.id);
  const neighbour = valueAt(doc, facePath(beside));
  const photo = inPhoto ?? neighbour?.photo ?? doc.photos[0]?.id;
  if (!photo) return { doc, id: "" };
  const id = kind === "wall" && !taken.includes("front") ? "front" : freshId(FACE_KINDS[kind].stem, taken);
  const label = freshLabel(id === "front" ? "Front" : FACE_KINDS[kind].label, doc.faces);
  const flat = neighbour && isFlat(neighbour) ? beside : wallsOf(doc, photo)[0]?.id;
  if (FACE_KINDS[kind].leans && (!flat || (FACE_KINDS[kind].first && !picks.length))) return { doc, id: "" };
  /** @type {Record<import("../face_kinds.js").FaceKind, any>} */
  const surfaces = {
    wall: { kind: "wall" },
    wing: { kind: "wall", hinge: { face: flat, at: picks } },
    parallel: { kind: "wall", parallel_to: flat, set_back_mm: null, returns: [] },
    round: { kind: "round", beside: flat ?? null, left_edge: null, right_edge: null, meets_wall: null },
    roof: { kind: "roof", eaves: { face: flat, at: picks }, pitch_deg: null },
  };
  const surface = surfaces[kind];
  const face = { id, label, photo, surface, frame: null, guides: [], references: [], measures: [] };
  return { doc: withItem(doc, ["faces"], face), id };
}

/** "Wing", then "Wing 2". @param {string} word @param {any[]} faces */
function freshLabel(word, faces) {
  const taken = faces.map((face) => face.label);
  for (let n = 1; ; n += 1) {
    const label = n === 1 ? word : `${word} ${n}`;
    if (!taken.includes(label)) return label;
  }
}

/** Take a face out, and let go of it whatever leant on it; roof slopes above it go with it.
 * @param {any} doc @param {string} faceId */
export function removeFace(doc, faceId) {
  const kept = without(doc, facePath(faceId));
  if (kept === doc) return doc;
  const faces = kept.faces
    .filter((/** @type {any} */ face) => face.surface?.eaves?.face !== faceId)
    .map((/** @type {any} */ face) => {
      const { surface } = face;
      const patch = {
        ...(surface?.hinge?.face === faceId ? { hinge: null } : {}),
        ...(surface?.beside === faceId ? { beside: null } : {}),
        ...(surface?.also_meets?.face === faceId ? { also_meets: null } : {}),
        ...(surface?.parallel_to === faceId ? { parallel_to: null, set_back_mm: null, returns: [] } : {}),
      };
      return Object.keys(patch).length ? { ...face, surface: { ...surface, ...patch } } : face;
    });
  return dropLooseTies({ ...kept, faces });
}

/** @param {any} doc @param {string} faceId @param {string} edge @param {readonly number[][]} picks
 * @param {string} beside the face that the line joins */
export function setEdge(doc, faceId, edge, picks, beside) {
  const surface = [...facePath(faceId), "surface"];
  if (edge === "returns") return withItem(doc, [...surface, edge], picks);
  const joins = edge === "hinge" || edge === "also_meets" || edge === "eaves";
  const before = valueAt(doc, [...surface, edge]) ?? {};
  return withValue(doc, [...surface, edge], joins ? { ...before, face: beside, at: picks } : picks);
}

/** Which face it leans on. @param {any} doc @param {string} faceId @param {string | null} other */
export function leanOn(doc, faceId, other) {
  const surface = valueAt(doc, [...facePath(faceId), "surface"]);
  const path = [...facePath(faceId), "surface"];
  if (surface.hinge) return withValue(doc, [...path, "hinge", "face"], other);
  if (surface.eaves) return withValue(doc, [...path, "eaves", "face"], other);
  return withValue(doc, [...path, surface.kind === "round" ? "beside" : "parallel_to"], other);
}

/** @param {any} doc @param {string} title */
export function setTitle(doc, title) {
  return withValue(doc, ["title"], title.slice(0, 400));
}

/** @param {any} doc @param {string} scale "1:148" */
export function setScale(doc, scale) {
  return withValue(doc, ["model_scale"], scale);
}

/** @param {any} doc @param {string} photoId @param {number | null} focal_35mm */
export function setFocal(doc, photoId, focal_35mm) {
  return withValue(doc, ["photos", `@${photoId}`, "focal_35mm"], focal_35mm);
}

/** @param {any} doc @param {string} photoId @param {boolean} cropped */
export function setCropped(doc, photoId, cropped) {
  return withValue(doc, ["photos", `@${photoId}`, "cropped"], cropped);
}
