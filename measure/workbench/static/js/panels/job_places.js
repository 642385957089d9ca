// @ts-check
/** The faces of the survey: each with its state, adding one, and the plan that grows as they are solved. Effect. */

import { h, named, textField } from "../dom.js";
import { FACE_KINDS, faceName, wallsOf } from "../face_kinds.js";
import * as things from "../edits/things.js";
import { faceKind, faceState } from "../face_states.js";
import { icon, stateSign } from "../icons.js";
import { tiesBody } from "./job_ties.js";
import { makePlan } from "../views/plan.js";

/** @param {import("../main.js").Context} context */
export function faceOf({ store, bench }) {
  return bench.doc()?.faces.find((/** @type {any} */ f) => f.id === store.state.face);
}

/** @param {import("../main.js").Context} context */
export function facesBody(context) {
  const { bench } = context;
  const doc = bench.doc();
  const photo = doc.photos.find((/** @type {any} */ p) => p.id === faceOf(context)?.photo) ?? doc.photos[0];
  const several = doc.photos.length > 1;
  const walls = photo ? wallsOf(doc, photo.id).length : 0;
  return [
    photo ? makePlan(context, photo.id) : "",
    ...doc.photos.flatMap((/** @type {any} */ one) => {
      const seen = doc.faces.filter((/** @type {any} */ f) => f.photo === one.id);
      return [several && seen.length ? h("h3", { class: "soft" }, `In ${one.file}`) : "", ...seen.map((/** @type {any} */ face) => faceRow(context, face))];
    }),
    ...tiesBody(context, faceOf(context)),
    h("p", { class: "soft" }, several ? `Add a face seen in ${photo.file}:` : "Add a face seen in the same photo:"),
    h("div", { class: "row" }, ...Object.entries(FACE_KINDS).map(([kind, spec]) => h("button", { id: `add-${kind}`, type: "button", title: spec.leans && !walls ? `${spec.hover} It needs a wall in the same photo first.` : spec.hover, disabled: spec.leans && !walls, onclick: () => bench.addFace(/** @type {any} */ (kind)) }, spec.name))),
  ];
}

/** @param {import("../main.js").Context} context @param {any} face */
function faceRow({ store, bench }, face) {
  const { answer } = store.state;
  const mine = face.id === store.state.face;
  const nameOf = (/** @type {string} */ id) => faceName(bench.doc(), id);
  const { state, says } = faceState(face, answer?.page?.faces?.[face.id], answer?.page?.trust?.[face.id]);
  const name = face.label || face.id;
  return h("div", { class: `item stacked ${state === "wrong" ? "wrong-item" : ""} ${mine ? "here" : ""}` },
    h("div", { class: "row tight" }, stateSign(state),
      mine ? h("span", { class: "grow" }, textField({ id: `face-name-${face.id}`, "aria-label": "Name of the face", value: name, ondone: (/** @type {string} */ t) => bench.edit("rename face", things.nameThing(bench.doc(), things.facePath(face.id), t)) }))
        : h("button", { id: `face-${face.id}`, type: "button", class: "grow", title: "Work on this face", onclick: () => store.set({ face: face.id, chosen: null, pick: null, run: null }) }, name),
      bench.doc().faces.length > 1 ? h("button", { id: `face-off-${face.id}`, type: "button", class: "icon", title: `Remove ${name}`, "aria-label": `Remove ${name}`, onclick: () => bench.removeFace(face.id) }, icon("bin")) : ""),
    h("p", { class: state === "wrong" ? "wrong" : "soft" }, `${faceKind(face, nameOf)}: ${says}`));
}
