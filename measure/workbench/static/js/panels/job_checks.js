// @ts-check
/** Checks: suspect picks with a sentence and a way there, and what to add so that there are checks. Effect. */

import { h } from "../dom.js";
import { counted, plain } from "../format.js";
import { removeThing } from "../edits/things.js";
import { icon, wrongSign } from "../icons.js";
import { GUIDES, guidesFor } from "../kinds.js";
import { ownerOf } from "../edits/picks.js";
import { pathFromText, pathText } from "../paths.js";
import { faceOf } from "./job_places.js";
import { guidesOffer } from "./offer_panels.js";

/** @param {import("../main.js").Context} context */
export function checksBody(context) {
  const { store, bench, sheets } = context;
  const face = faceOf(context);
  if (!face) return [];
  const { answer } = store.state;
  const suspects = answer?.page?.suspects ?? [];
  const solution = answer?.results?.photos?.[face.photo];
  return [
    ...suspects.map((/** @type {any} */ one, /** @type {number} */ i) => h("div", { class: "item wrong-item stacked" }, h("p", { class: "wrong" }, wrongSign(), one.sentence),
      h("div", { class: "row" },
        h("button", { id: `suspect-${i}`, type: "button", onclick: () => jump(one.path) }, one.rivals?.length ? "Show the first" : "Show"),
        ...(one.rivals ?? []).map((/** @type {any} */ rival, /** @type {number} */ n) => h("button", { id: `suspect-${i}-rival-${n}`, type: "button", title: rival.name, onclick: () => jump(rival.path) }, n ? "Show the third" : "Show the second"))))),
    ...(solution?.warnings ?? []).filter((/** @type {string} */ text) => !suspects.some((/** @type {any} */ one) => one.sentence === text)).map((/** @type {string} */ text) => h("p", { class: "offer" }, wrongSign(), text)),
    solution ? h("p", {}, solution.redundancy > 0 ? `${counted(solution.redundancy, "check")}; the picks miss by ${plain(solution.rms_px, 1)} px on average.` : "Nothing checks the picks yet.") : "",
    solution ? h("details", {}, h("summary", {}, "The camera, as found"), h("p", { class: "soft" }, `Focal length ${plain(solution.focal_px, 0)} ±${plain(solution.u_focal_px, 0)} px, distortion k1 ${plain(solution.k1, 4)}.`)) : "",
    h("div", { class: "row" }, ...guidesFor(face).map(([kind, spec]) => h("button", { id: `guide-${kind}`, type: "button", title: spec.hover, onclick: () => bench.take("guides", kind) }, `Add ${spec.name.toLowerCase()}`))),
    ...guidesOffer(context, face.photo),
    ...(face.guides ?? []).map((/** @type {any} */ guide, /** @type {number} */ i) => guide.found ? "" : h("div", { class: "item" },
      h("button", { id: `guide-show-${i}`, type: "button", class: "grow link", onclick: () => show(["faces", `@${face.id}`, "guides", i]) }, GUIDES[guide.kind].name),
      h("button", { id: `guide-off-${i}`, type: "button", class: "icon", "aria-label": `Remove ${GUIDES[guide.kind].name.toLowerCase()} ${i + 1}`, title: "Remove", onclick: () => bench.edit(`remove ${GUIDES[guide.kind].name.toLowerCase()}`, removeThing(bench.doc(), ["faces", `@${face.id}`, "guides", i])) }, icon("bin")))),
  ];

  /** @param {string} text */
  function jump(text) { jumpTo(context, text); }
  /** @param {import("../paths.js").Path} path */
  function show(path) {
    bench.choose(pathText(path));
    sheets?.find(pathText(path));
  }
}

/** Choose a pick or a thing and bring it into view on both sheets. @param {import("../main.js").Context} context @param {string} text its path */
export function jumpTo({ bench, sheets }, text) {
  const path = pathFromText(text);
  const isPick = typeof path[path.length - 1] === "number" && path.length > 3 && (path[2] === "frame" || path.length > 4);
  if (isPick) bench.choose(pathText(ownerOf(bench.doc(), path).path), text);
  else bench.choose(text);
  sheets?.find(text);
}
