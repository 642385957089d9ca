// @ts-check
/** Edits of the survey's photos. Pure. */

import { valueAt, withItem, withValue, without } from "../paths.js";
import { addFace, removeFace } from "./faces.js";
import { freshId } from "./things.js";

/** A file's name without its ending, short enough for a label. @param {string} file */
function stemOf(file) {
  const stem = file.replace(/\.[^.]*$/, "");
  return stem.length > 30 ? `${stem.slice(0, 29)}…` : stem;
}

/**
 * One more photo, and a first face in it. A file that is listed already gets another face and no
 * second entry.
 * @param {any} doc @param {{file: string, width_px: number, height_px: number}} told by the server
 * @returns {{doc: any, photo: string, face: string}}
 */
export function addPhoto(doc, told) {
  const known = doc.photos.find((/** @type {any} */ p) => p.file === told.file);
  const id = known?.id ?? freshId("photo", doc.photos.map((/** @type {any} */ p) => p.id));
  const photo = { id, file: told.file, width_px: told.width_px, height_px: told.height_px, focal_35mm: null, cropped: false };
  const added = addFace(known ? doc : withItem(doc, ["photos"], photo), "wall", "", id);
  const label = doc.faces.length ? `Wall in ${stemOf(told.file)}` : "Front";
  return { doc: withValue(added.doc, ["faces", `@${added.id}`, "label"], label), photo: id, face: added.id };
}

/** Take a photo out with every face that is seen in it; the file stays where it is.
 * @param {any} doc @param {string} photoId */
export function removePhoto(doc, photoId) {
  const faces = doc.faces.filter((/** @type {any} */ f) => f.photo === photoId);
  const kept = faces.reduce((/** @type {any} */ now, /** @type {any} */ face) => removeFace(now, face.id), doc);
  return without(kept, ["photos", `@${photoId}`]);
}

/** @param {any} doc @param {string} photoId @returns {string | null} the first face seen in it */
export function firstFaceOf(doc, photoId) {
  return doc.faces.find((/** @type {any} */ f) => f.photo === photoId)?.id ?? null;
}

/** @param {any} doc @param {string} photoId */
export function fileOf(doc, photoId) {
  return valueAt(doc, ["photos", `@${photoId}`, "file"]) ?? photoId;
}
