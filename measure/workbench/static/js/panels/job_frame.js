// @ts-check
/** How a face stands: its frame, the lines that join it to others, and what is known of them. Effect. */

import { h, named } from "../dom.js";
import { leanOn } from "../edits/faces.js";
import * as things from "../edits/things.js";
import { FACE_KINDS, LINES_OF, faceName, kindOfFace, leansOn, wallsOf } from "../face_kinds.js";
import { isBegun, solvedSays } from "../face_states.js";
import { typedNumber } from "../format.js";
import { icon, wrongSign } from "../icons.js";
import { EDGES, GUIDES } from "../kinds.js";
import { valueAt } from "../paths.js";
import { askedField, refusalOf, refuse } from "../refusals.js";
import { faceOf } from "./job_places.js";

/** What each kind asks for, in a sentence. */
const SAYS = {
  wall: "", wing: "The corner it shares with its neighbour carries the size over; its own frame gives the angle.",
  parallel: "An edge running back from one wall to the other, or a set-back that you know, fixes how far apart they stand.",
  round: "Pick the outlines you can see, or where the tower runs into the wall. One more fact fixes its size: the axis's set-back, its radius, or a known size on the tower.",
  roof: "Its own frame, or a verge that runs straight up it, gives the pitch; or type the pitch if you know it.",
};

/** @param {import("../main.js").Context} context */
export function frameBody(context) {
  const { store, bench } = context;
  const face = faceOf(context);
  if (!face) return [];
  const told = store.state.answer?.page?.faces?.[face.id];
  const kind = kindOfFace(face);
  const nameOf = (/** @type {string} */ id) => faceName(bench.doc(), id);
  const walls = wallsOf(bench.doc(), face.photo, face.id);
  const other = leansOn(face) ?? walls[0]?.id ?? null;
  return [
    told?.problem && isBegun(face) ? h("p", { class: "wrong" }, wrongSign(), `${told.problem.message} ${told.problem.hint ?? ""}`) : "",
    SAYS[kind] ? h("p", {}, SAYS[kind]) : "",
    kind === "wall" || !walls.length ? "" : leanField(context, face, walls),
    h("div", { class: "row" }, ...LINES_OF[kind].filter((edge) => edge !== "hinge" || walls.length).map((edge) => edgeButton(context, face, edge, other))),
    ...(face.surface.returns ?? []).map((/** @type {any} */ _, /** @type {number} */ i) => h("div", { class: "item" }, h("span", { class: "grow" }, `Edge running back ${i + 1}`),
      h("button", { id: `return-off-${i}`, type: "button", class: "icon", title: "Remove this edge", "aria-label": `Remove edge running back ${i + 1}`, onclick: () => bench.remove(`faces/@${face.id}/surface/returns/#${i}`) }, icon("bin")))),
    kind === "parallel" ? lengthField(context, "set_back_mm", "Behind that wall (before it: a minus)") : "",
    kind === "round" ? lengthField(context, "axis_set_back_mm", "Axis behind the wall") : "",
    kind === "round" ? lengthField(context, "radius_mm", "Radius, if known") : "",
    kind === "roof" ? lengthField(context, "set_back_mm", "Eaves behind the wall (before it: a minus)", ["eaves"]) : "",
    kind === "roof" ? h("div", { class: "row" }, h("button", { id: "verge-pick", type: "button", title: GUIDES.verge.hover, onclick: () => bench.take("guides", "verge") }, "Pick a verge")) : "",
    kind === "roof" ? pitchField(context) : "",
    kind === "round" ? "" : h("div", { class: "row" }, h("button", { id: "frame-pick", type: "button", class: face.frame ? "" : "main", onclick: () => bench.take("frame") }, face.frame ? "Pick the frame again" : "Pick the frame")),
    h("div", { class: "row" }, h("button", { id: "datum-pick", type: "button", title: "Levels count from here; without it, from the lowest corner of the frame", onclick: () => bench.take("datum") }, face.datum ? "Set the datum again" : "Set a datum"),
      face.datum ? h("button", { id: "datum-off", type: "button", onclick: () => bench.remove(`faces/@${face.id}/datum`) }, "No datum") : ""),
    told?.solved && told.sized ? h("p", { id: "solved-says" }, solvedSays(face, store.state.answer.results.faces[face.id], nameOf, store.state.unit)) : "",
    told?.solved ? h("p", { class: "soft" }, "The lines over the photo are this face as solved: where they lie on the building, it fits.") : "",
  ];
}

/** @param {import("../main.js").Context} context @param {any} face @param {string} edge @param {string | null} other */
function edgeButton({ bench }, face, edge, other) {
  const picked = edge === "returns" ? false : face.surface?.[edge];
  const name = EDGES[edge].name.toLowerCase();
  return h("button", { id: `edge-${edge}`, type: "button", title: EDGES[edge].hover, onclick: () => bench.take("surface", edge, { beside: face.surface?.[edge]?.face ?? other }) },
    picked ? icon("tick", { class: "state-done" }) : "", picked ? `Again: ${name}` : edge === "returns" ? `Add an ${name}` : EDGES[edge].name);
}

/** Which wall it leans on. @param {import("../main.js").Context} context @param {any} face @param {any[]} walls */
function leanField({ bench }, face, walls) {
  const kind = kindOfFace(face);
  const words = { wall: "", wing: "Hinged on", parallel: "Parallel to", round: "Stands beside", roof: "Rises above" };
  return named(words[kind], h("select", { id: "lean-on", title: FACE_KINDS[kind].hover, onchange: (/** @type {any} */ e) => bench.edit("choose its neighbour", leanOn(bench.doc(), face.id, e.target.value || null)) },
    kind === "round" ? h("option", { value: "", selected: !leansOn(face) }, "nothing: on its own") : "",
    ...walls.map((one) => h("option", { value: one.id, selected: leansOn(face) === one.id }, one.label || one.id))));
}

/** @param {import("../main.js").Context} context @param {"axis_set_back_mm" | "radius_mm" | "set_back_mm"} field @param {string} name @param {string[]} [part] of the surface */
function lengthField(context, field, name, part = []) {
  const { bench, actions } = context;
  const face = faceOf(context);
  const path = [...things.facePath(face.id), "surface", ...part];
  const given = valueAt(bench.doc(), path)[field];
  const value = part.length && given === 0 ? null : given;
  const u = `u_${field}`;
  const [id, u_id] = [`surface-${field}`, `surface-${u}`];
  const alone = part.length || value == null;
  return h("div", {}, h("div", alone ? {} : { class: "two", style: { alignItems: "end" } }, named(name, askedField({
    id, value: value == null ? "" : `${value} mm`, placeholder: "not known",
    ondone: (/** @type {string} */ text) => actions.readLength(text, id, (length_mm) => bench.edit(`set ${field === "radius_mm" ? "radius" : "set-back"}`, things.setField(bench.doc(), path, field, part.length ? (length_mm ?? 0) : length_mm))),
  })), alone ? "" : named("±", askedField({
    id: u_id, title: "How far the real one may differ from it; left empty, a little is allowed", value: face.surface[u] == null ? "" : `${face.surface[u]} mm`, placeholder: "a little",
    ondone: (/** @type {string} */ text) => actions.readLength(text, u_id, (length_mm) => bench.edit("set ±", things.setField(bench.doc(), path, u, length_mm))),
  }))), refusalOf(id), alone ? "" : refusalOf(u_id));
}

/** @param {import("../main.js").Context} context */
function pitchField(context) {
  const { bench } = context;
  const face = faceOf(context);
  const path = [...things.facePath(face.id), "surface"];
  return h("div", {}, named("Pitch above the level, if known", askedField({
    id: "surface-pitch", inputmode: "decimal", value: face.surface.pitch_deg ?? "", placeholder: "solved from its frame",
    ondone: (/** @type {string} */ text) => {
      const deg = typedNumber(text, "°");
      if (text === "" || (deg > 0 && deg < 90)) { bench.edit("set pitch", things.setField(bench.doc(), path, "pitch_deg", text === "" ? null : deg)); return; }
      refuse("surface-pitch", text, `“${text}” is not a pitch: type degrees between 0 and 90, or leave it empty.`);
    },
  })), refusalOf("surface-pitch"));
}
