// @ts-check
/** Edits of faces and of the survey as a whole. Pure. */

import { valueAt, withItem, withValue, without } from "../paths.js";
import { facePath, freshId } from "./things.js";

/** Which picks each kind of face has besides its frame. */
export const FACE_KINDS = {
  wall: { name: "Wall", stem: "wall", hover: "A flat wall seen in the photo." },
  wing: { name: "Wing at an angle", stem: "wing", hover: "A second flat wall that shares a plumb corner with the first. It needs no known size of its own." },
  round: { name: "Round tower", stem: "tower", hover: "A round tower standing plumb: its outlines, and one thing that fixes its size." },
};

/**
 * @param {any} doc @param {keyof typeof FACE_KINDS} kind @param {string} beside id of the face it joins
 * @param {string} [inPhoto] id of the photo; that of its neighbour if left out
 * @returns {{doc: any, id: string}}
 */
export function addFace(doc, kind, beside, inPhoto) {
  const taken = doc.faces.map((/** @type {any} */ f) => f.id);
  const neighbour = valueAt(doc, facePath(beside));
  const photo = inPhoto ?? neighbour?.photo ?? doc.photos[0]?.id;
  if (!photo) return { doc, id: "" };
  const id = kind === "wall" && !taken.includes("front") ? "front" : freshId(FACE_KINDS[kind].stem, taken);
  const label = freshLabel({ wall: id === "front" ? "Front" : "Wall", wing: "Wing", round: "Tower" }[kind], doc.faces);
  const surface = kind === "round"
    ? { kind: "round", beside: neighbour ? beside : null, left_edge: null, right_edge: null, meets_wall: null }
    : { kind: "wall" };
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

/** Take a face out, and let go of it whatever was hinged on it.
 * @param {any} doc @param {string} faceId */
export function removeFace(doc, faceId) {
  const kept = without(doc, facePath(faceId));
  if (kept === doc) return doc;
  const faces = kept.faces.map((/** @type {any} */ face) => {
    const { surface } = face;
    if (surface?.hinge?.face === faceId) return { ...face, surface: { ...surface, hinge: null } };
    if (surface?.beside === faceId) return { ...face, surface: { ...surface, beside: null } };
    return face;
  });
  return { ...kept, faces };
}

/** @param {any} doc @param {string} faceId @param {string} edge @param {readonly number[][]} picks
 * @param {string} beside the face that a hinge joins */
export function setEdge(doc, faceId, edge, picks, beside) {
  const surface = [...facePath(faceId), "surface"];
  if (edge === "hinge") return withValue(doc, [...surface, "hinge"], { face: beside, at: picks });
  return withValue(doc, [...surface, edge], picks);
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
