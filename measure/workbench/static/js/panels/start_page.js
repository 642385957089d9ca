// @ts-check
/** The first page: drop a photo, the demo beside it, what was worked on before. Effect. */

import { h, fill } from "../dom.js";
import { agoText } from "../format.js";
import { wrongSign } from "../icons.js";
import { GOOD_PHOTO, SAFETY } from "../words.js";

/** @param {import("../main.js").Context} context @param {HTMLElement} work */
export function mountStart({ store, actions }, work) {
  /** @type {HTMLElement | null} */
  let page = null;
  /** @type {{message: string, hint: string, at: string} | null} */
  let problem = null;
  /** @type {{name: string, stop: AbortController} | null} */
  let busy = null;
  let opening = false;

  store.on((s) => [s.place, s.start], (s) => {
    if (s.place !== "start") { page?.remove(); page = null; return; }
    draw();
  });

  /** @param {Promise<any>} work_ @param {string} at where a refusal stands */
  async function attempt(work_, at) {
    problem = null;
    draw();
    try {
      await work_;
    } catch (refused) {
      const { message, hint, name } = /** @type {any} */ (refused);
      if (name !== "AbortError") problem = { message, hint: hint ?? "", at };
    }
    busy = null;
    if (store.state.place === "start") draw();
  }

  /** @param {FileList | null | undefined} files */
  function take(files) {
    const file = files?.[0];
    if (!file) return;
    const stop = new AbortController();
    busy = { name: file.name, stop };
    attempt(actions.newFromPhoto(file, stop.signal), "drop");
  }

  async function openDemo() {
    if (opening) return;
    opening = true;
    await attempt(actions.openDemo(), "demo");
    opening = false;
    if (store.state.place === "start") draw();
  }

  /** @param {string} at */
  const wrong = (at) => (problem?.at === at ? h("p", { class: "wrong", role: "alert" }, wrongSign(), `${problem.message} ${problem.hint}`) : "");

  function draw() {
    const s = store.state;
    const picker = h("input", { type: "file", id: "photo-file", accept: "image/*,.heic,.heif", tabindex: "-1", "aria-label": "Photo file", onchange: (/** @type {any} */ e) => take(e.target.files) });
    const drop = h("div", { class: "drop" },
      busy ? h("div", { class: "busy", role: "status" }, `Reading ${busy.name} …`, h("button", { id: "stop-reading", type: "button", onclick: () => busy?.stop.abort() }, "Stop"))
        : [h("p", {}, h("strong", {}, "Drop a photo of the building here")), h("button", { id: "choose-photo", type: "button", class: "main", onclick: () => picker.click() }, "Choose a photo"), picker, h("p", { class: "soft small" }, "JPEG, HEIC, PNG or TIFF, straight from the camera. It stays on this computer.")],
      wrong("drop"));
    for (const name of ["dragenter", "dragover"]) drop.addEventListener(name, (e) => { e.preventDefault(); drop.classList.add("over"); });
    for (const name of ["dragleave", "drop"]) drop.addEventListener(name, (e) => { e.preventDefault(); drop.classList.remove("over"); });
    drop.addEventListener("drop", (e) => take(e.dataTransfer?.files));
    const recent = s.start?.recent ?? [];
    const body = h("div", { class: "start" }, h("div", { class: "board" },
      h("h1", {}, "From one street photo to true sizes and a drawing for your model"),
      h("div", { class: "stack loose" }, drop,
        h("section", { "aria-labelledby": "good" }, h("h2", { id: "good" }, "What makes a good photo"), h("ol", { class: "good" }, ...GOOD_PHOTO.map((line) => h("li", {}, h("span", {}, line)))))),
      h("div", { class: "side" },
        h("section", { class: "demo-card", "aria-labelledby": "demo-name" }, h("h2", { id: "demo-name" }, "Try it on the demo"), h("p", {}, "Pennywhistle Maltings: a brick malthouse with a kiln tower and a lower wing, photo and picks included. A short walk shows you round."),
          h("button", { id: "open-demo", type: "button", class: "main", onclick: openDemo }, opening ? "Opening the demo …" : "Open the demo"), wrong("demo")),
        h("section", { "aria-labelledby": "recent-name" }, h("h2", { id: "recent-name" }, "Worked on before"),
          recent.length ? h("ul", { class: "recent" }, ...recent.map((/** @type {any} */ one) => h("li", {}, h("button", { id: `recent-${one.key}`, type: "button", disabled: one.missing, onclick: () => attempt(actions.open(one.key), "recent") },
            h("strong", {}, one.title || one.name), h("span", { class: "soft small" }, one.missing ? "moved or removed" : agoText(one.seconds_ago)), h("span", { class: "where" }, one.folder))))) : h("p", { class: "soft" }, "Nothing yet. Surveys that you open are listed here; the files stay where they are."),
          wrong("recent"))),
      h("ul", { class: "safety" }, ...SAFETY.map((line) => h("li", {}, line)))));
    if (page) fill(page, ...body.childNodes);
    else { page = body; work.append(page); }
  }
}
