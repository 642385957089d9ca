// @ts-check
/** The first line of the job: the photos of the survey, their lens, and adding one. Effect. */

import { h, named } from "../dom.js";
import { setCropped, setFocal } from "../edits/faces.js";
import { firstFaceOf } from "../edits/photos.js";
import { counted, typedNumber } from "../format.js";
import { icon, wrongSign } from "../icons.js";
import { askedField, refusalOf, refuse } from "../refusals.js";
import { faceOf } from "./job_places.js";

/** @param {import("../main.js").Context} context */
export function photoBody(context) {
  const { store, bench, actions } = context;
  const doc = bench.doc();
  const photo = doc.photos.find((/** @type {any} */ p) => p.id === faceOf(context)?.photo) ?? doc.photos[0];
  const off = store.state.saved.state === "elsewhere";
  const { arriving } = store.state;
  const picker = h("input", { type: "file", id: "more-photo-file", class: "unseen", accept: "image/*,.heic,.heif", tabindex: "-1", "aria-label": "File of one more photo", onchange: (/** @type {any} */ e) => e.target.files[0] && actions.addPhoto(e.target.files[0]) });
  return [
    ...(doc.photos.length > 1 ? doc.photos.map((/** @type {any} */ one) => photoRow(context, one, one === photo)) : []),
    ...(photo ? lens(context, photo) : [h("p", {}, "This survey has no photo yet.")]),
    arriving && !arriving.problem ? h("div", { class: "row", role: "status" }, h("span", { class: "grow" }, `Reading ${arriving.name} …`), h("button", { id: "stop-arriving", type: "button", onclick: actions.stopArriving }, "Stop"))
      : h("button", { id: "add-photo", type: "button", disabled: off, title: "One more photo of the same building: the far end of a front, another side. It can also be dropped on the page.", onclick: () => picker.click() }, "Add a photo"),
    arriving?.problem ? h("p", { class: "wrong", role: "alert" }, wrongSign(), arriving.problem) : "",
    picker,
  ];
}

/** @param {import("../main.js").Context} context @param {any} photo @param {boolean} mine */
function photoRow({ store, bench }, photo, mine) {
  const doc = bench.doc();
  const faces = doc.faces.filter((/** @type {any} */ f) => f.photo === photo.id).length;
  const first = firstFaceOf(doc, photo.id);
  const problem = store.state.answer?.page?.photos?.[photo.id]?.problem;
  const look = () => (first ? store.set({ face: first, chosen: null, pick: null, run: null }) : bench.addFace("wall", photo.id));
  return h("div", { class: problem ? "item wrong-item" : mine ? "item here" : "item" },
    h("button", { id: `photo-${photo.id}`, type: "button", class: "grow", "aria-current": mine ? "true" : undefined, title: first ? "Work on this photo" : "Begin a face in this photo", onclick: look },
      h("span", {}, photo.file, h("br"), h("span", { class: "small" }, faces ? counted(faces, "face") : "no face yet"))),
    h("button", { id: `photo-off-${photo.id}`, type: "button", class: "icon", title: `Remove ${photo.file} from the survey with its faces; the file stays`, "aria-label": `Remove ${photo.file} from the survey`, onclick: () => bench.removePhoto(photo.id) }, icon("bin")));
}

/** @param {import("../main.js").Context} context @param {any} photo @returns {any[]} */
function lens({ store, bench }, photo) {
  const told = store.state.answer?.page?.photos?.[photo.id];
  return [
    bench.doc().photos.length > 1 ? "" : h("p", { style: { overflowWrap: "anywhere" } }, photo.file),
    told?.problem ? h("p", { class: "wrong" }, wrongSign(), `${told.problem.message} ${told.problem.hint ?? ""}`) : "",
    told?.lens_says ? h("p", { class: told.focal_35mm ? "" : "offer" }, told.focal_35mm ? "" : wrongSign(), told.lens_says) : "",
    named("Lens, as for 35 mm film", askedField({
      id: "focal", inputmode: "decimal", value: photo.focal_35mm ?? "", placeholder: told?.focal_35mm ? `${told.focal_35mm} mm, read from the photo` : "not known",
      ondone: (/** @type {string} */ text) => {
        const mm = typedNumber(text, "mm");
        if (text === "" || (mm > 1 && mm < 5000)) { bench.edit("set lens", setFocal(bench.doc(), photo.id, text === "" ? null : mm)); return; }
        refuse("focal", text, `“${text}” is not a lens: type its millimetres, such as 26, or leave it empty.`);
      },
    })),
    refusalOf("focal"),
    h("label", { class: "tick-row" }, h("input", { type: "checkbox", id: "cropped", checked: photo.cropped, onchange: (/** @type {any} */ e) => bench.edit("mark as cropped", setCropped(bench.doc(), photo.id, e.target.checked)) }), "This photo was cropped"),
    ...(told?.doubts ?? []).map((/** @type {string} */ doubt) => h("p", { class: "offer" }, wrongSign(), doubt)),
  ];
}

