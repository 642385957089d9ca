// @ts-check
/** Making elements, and filling them again without losing the user's place. Effect. */

const SVG = "http://www.w3.org/2000/svg";

/** @typedef {Record<string, any>} Props */

/** @param {Element} node @param {Props} props */
function setProps(node, props) {
  for (const [key, value] of Object.entries(props)) {
    if (value === undefined || value === null || value === false) continue;
    if (key.startsWith("on")) node.addEventListener(key.slice(2), value);
    else if (key === "value" || key === "checked" || key === "selected") /** @type {any} */ (node)[key] = value;
    else if (key === "style") Object.assign(/** @type {any} */ (node).style, value);
    else node.setAttribute(key, value === true ? "" : String(value));
  }
}

/**
 * `h("button", {class: "main", onclick: go}, "Go")`.
 * @param {string} tag @param {Props} [props] @param {...any} children @returns {HTMLElement}
 */
export function h(tag, props = {}, ...children) {
  const node = document.createElement(tag);
  node.append(...flat(children));
  setProps(node, props);
  return node;
}

/** The same for SVG. @param {string} tag @param {Props} [props] @param {...any} children @returns {SVGElement} */
export function s(tag, props = {}, ...children) {
  const node = document.createElementNS(SVG, tag);
  setProps(node, props);
  node.append(...flat(children));
  return node;
}

/** @param {any[]} children @returns {(Node | string)[]} */
function flat(children) {
  return children.flat(Infinity).filter((c) => c !== null && c !== undefined && c !== false && c !== "");
}

/** Where Tab goes on from once the element that had the focus is gone: it, drawn again, or its panel. */
let left = { id: "", panel: /** @type {Element | null} */ (null) };
globalThis.document?.addEventListener("keydown", (event) => {
  if (event.key !== "Tab" || document.activeElement !== document.body) return;
  const again = document.getElementById(left.id) ?? left.panel?.querySelector("button, input, select, a[href]");
  if (again instanceof HTMLElement) again.focus();
}, true);

/**
 * Put new children into a node. The element that had the focus gets it back, found by its id;
 * a text half typed is kept.
 * @param {Element} node @param {...any} children
 */
export function fill(node, ...children) {
  const active = document.activeElement;
  const inside = active instanceof HTMLElement && active !== node && node.contains(active) ? active : null;
  const typed = inside instanceof HTMLInputElement && inside.dataset.dirty ? inside.value : null;
  if (inside) delete inside.dataset.dirty; // it is taken away, not left
  const caret = inside instanceof HTMLInputElement && inside.type === "text" ? inside.selectionStart : null;
  const scrolled = [...node.querySelectorAll("[data-keeps-scroll]")].map((el) => [el.id, el.scrollTop]);
  node.replaceChildren(...flat(children));
  for (const [id, top] of scrolled) {
    const again = document.getElementById(String(id));
    if (again) again.scrollTop = Number(top);
  }
  if (inside) left = { id: inside.id, panel: node };
  if (!inside?.id) return;
  const again = document.getElementById(inside.id);
  if (!(again instanceof HTMLElement)) return;
  if (typed !== null && again instanceof HTMLInputElement) {
    again.value = typed;
    again.dataset.dirty = "yes";
  }
  again.focus({ preventScroll: true });
  if (caret !== null && again instanceof HTMLInputElement) again.setSelectionRange(caret, caret);
}

/**
 * A text field that tells what was typed when it is done: on Enter or when left; Escape takes it back.
 * @param {Props} props with `ondone(text)` @returns {HTMLInputElement}
 */
export function textField({ ondone, ...props }) {
  const field = /** @type {HTMLInputElement} */ (h("input", { type: "text", autocomplete: "off", spellcheck: "false", ...props }));
  const before = field.value;
  field.addEventListener("input", () => { field.dataset.dirty = "yes"; });
  // a browser tells no change of a text that was carried over to a field drawn again, so what is left dirty is done
  field.addEventListener("blur", () => { if (!field.dataset.dirty) return; delete field.dataset.dirty; ondone(field.value.trim()); });
  field.addEventListener("keydown", (event) => {
    if (event.key === "Escape") { field.value = before; delete field.dataset.dirty; field.blur(); event.stopPropagation(); }
    if (event.key === "Enter") { left = { id: field.id, panel: field.closest("#job, #sizes, #head") }; field.blur(); }
  });
  return field;
}

/** @param {string} name of the field @param {any} control @param {Props} [props] */
export function named(name, control, props = {}) {
  return h("label", props, h("span", { class: "name" }, name), control);
}

/** Save bytes under a name through the browser. @param {string} href @param {string} name */
export function saveAs(href, name) {
  const link = h("a", { href, download: name });
  document.body.append(link);
  link.click();
  link.remove();
}
