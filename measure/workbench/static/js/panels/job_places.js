// @ts-check
/** Bodies of two lines of the job: faces and frame. Effect. */

import { h, named, textField } from "../dom.js";
import { FACE_KINDS } from "../edits/faces.js";
import * as things from "../edits/things.js";
import { faceKind, faceState } from "../face_states.js";
import { icon, stateSign, wrongSign } from "../icons.js";
import { EDGES } from "../kinds.js";

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
  return [
    ...doc.photos.flatMap((/** @type {any} */ one) => {
      const seen = doc.faces.filter((/** @type {any} */ f) => f.photo === one.id);
      return [several && seen.length ? h("h3", { class: "soft" }, `In ${one.file}`) : "", ...seen.map((/** @type {any} */ face) => faceRow(context, face))];
    }),
    h("p", { class: "soft" }, several ? `Add a face seen in ${photo.file}:` : "Add a face seen in the same photo:"),
    h("div", { class: "row" }, ...Object.entries(FACE_KINDS).map(([kind, spec]) => h("button", { id: `add-${kind}`, type: "button", title: spec.hover, onclick: () => bench.addFace(/** @type {any} */ (kind)) }, spec.name))),
  ];
}

/** @param {import("../main.js").Context} context @param {any} face */
function faceRow({ store, bench }, face) {
  const { answer } = store.state;
  const mine = face.id === store.state.face;
  const nameOf = (/** @type {string} */ id) => { const f = bench.doc().faces.find((/** @type {any} */ one) => one.id === id); return f?.label || id; };
  const { state, says } = faceState(face, answer?.page?.faces?.[face.id], answer?.page?.trust?.[face.id]);
  const name = face.label || face.id;
  return h("div", { class: `item stacked ${state === "wrong" ? "wrong-item" : ""} ${mine ? "here" : ""}` },
    h("div", { class: "row tight" }, stateSign(state),
      mine ? h("span", { class: "grow" }, textField({ id: `face-name-${face.id}`, "aria-label": "Name of the face", value: name, ondone: (/** @type {string} */ t) => bench.edit("rename face", things.nameThing(bench.doc(), things.facePath(face.id), t)) }))
        : h("button", { id: `face-${face.id}`, type: "button", class: "grow", title: "Work on this face", onclick: () => store.set({ face: face.id, chosen: null, pick: null, run: null }) }, name),
      bench.doc().faces.length > 1 ? h("button", { id: `face-off-${face.id}`, type: "button", class: "icon", title: `Remove ${name}`, "aria-label": `Remove ${name}`, onclick: () => bench.removeFace(face.id) }, icon("bin")) : ""),
    h("p", { class: state === "wrong" ? "wrong" : "soft" }, `${faceKind(face, nameOf)}: ${says}`));
}

/** @param {import("../main.js").Context} context */
export function frameBody(context) {
  const { store, bench } = context;
  const face = faceOf(context);
  if (!face) return [];
  const told = store.state.answer?.page?.faces?.[face.id];
  const round = face.surface?.kind === "round";
  const other = bench.doc().faces.find((/** @type {any} */ f) => f.id !== face.id);
  const picked = (/** @type {string} */ edge) => (edge === "hinge" ? face.surface?.hinge : face.surface?.[edge]);
  /** @param {string} edge */
  const edgeButton = (edge) => h("button", { id: `edge-${edge}`, type: "button", title: EDGES[edge].hover, onclick: () => bench.take("surface", edge, { beside: face.surface?.beside ?? other?.id }) },
    picked(edge) ? icon("tick", { class: "state-done" }) : "", `${picked(edge) ? "Again: " : ""}${EDGES[edge].name.toLowerCase()}`);
  return [
    told?.problem ? h("p", { class: "wrong" }, wrongSign(), `${told.problem.message} ${told.problem.hint ?? ""}`) : "",
    round ? h("p", {}, "Pick the outlines you can see, or where the tower runs into the wall. One more fact fixes its size: the axis's set-back, its radius, or a known size on the tower.") : "",
    round ? h("div", { class: "row" }, ...["left_edge", "right_edge", "meets_wall"].map(edgeButton)) : "",
    round ? lengthField(context, "axis_set_back_mm", "Axis behind the wall") : "",
    round ? lengthField(context, "radius_mm", "Radius, if known") : "",
    round ? "" : h("div", { class: "row" }, h("button", { id: "frame-pick", type: "button", class: face.frame ? "" : "main", onclick: () => bench.take("frame") }, face.frame ? "Pick the frame again" : "Pick the frame")),
    !round && other ? h("div", { class: "row" }, edgeButton("hinge")) : "",
    h("div", { class: "row" }, h("button", { id: "datum-pick", type: "button", title: "Levels count from here; without it, from the lowest corner of the frame", onclick: () => bench.take("datum") }, face.datum ? "Set the datum again" : "Set a datum"),
      face.datum ? h("button", { id: "datum-off", type: "button", onclick: () => bench.remove(`faces/@${face.id}/datum`) }, "No datum") : ""),
  ];
}

/** @param {import("../main.js").Context} context @param {"axis_set_back_mm" | "radius_mm"} field @param {string} name */
function lengthField(context, field, name) {
  const { bench, actions } = context;
  const face = faceOf(context);
  const value = face.surface[field];
  const say = h("p", { class: "wrong", hidden: true });
  return h("div", {}, named(name, textField({
    id: `surface-${field}`, value: value == null ? "" : `${value} mm`, placeholder: "not known",
    ondone: (/** @type {string} */ text) => actions.readLength(text, say, (length_mm) => bench.edit(`set ${name.toLowerCase()}`, things.setField(bench.doc(), [...things.facePath(face.id), "surface"], field, length_mm))),
  })), say);
}
