import assert from "node:assert/strict";
import { readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { test } from "node:test";

const STATIC = fileURLToPath(new URL("../../measure/workbench/static/", import.meta.url));
const PURE = ["view_transform", "geometry", "format", "history", "paths", "kinds", "pick_sequence", "loupe_place", "keys",
  "measure_rows", "job_lines", "trust_sentence", "marks", "words", "edits/picks", "edits/things", "edits/faces", "edits/photos", "suspects", "face_states", "face_kinds", "edits/card", "wishes_spec", "edits/wishes", "edits/offers", "edits/ties", "edits/joints", "edits/bricks", "edits/lines", "edits/handles", "edits/pins", "tools/near"];

function modules(folder = join(STATIC, "js")) {
  return readdirSync(folder, { withFileTypes: true }).flatMap((entry) => {
    const path = join(folder, entry.name);
    return entry.isDirectory() ? modules(path) : path.endsWith(".js") ? [path] : [];
  });
}

test("no module is longer than 250 lines", () => {
  for (const path of modules()) assert.ok(readFileSync(path, "utf8").split("\n").length <= 251, path);
});

test("pure modules know neither document nor window nor network, and import only pure ones", () => {
  for (const name of PURE) {
    const text = readFileSync(join(STATIC, "js", `${name}.js`), "utf8");
    const code = text.replace(/\/\*[\s\S]*?\*\//g, "").replace(/\/\/.*/g, "");
    assert.doesNotMatch(code, /\b(document\.(query|create|body|getE)|window\.\w|fetch\(|localStorage)/, name);
    for (const [, from] of code.matchAll(/from "(.+?)"/g)) {
      const target = join(name, "..", from).replace(/\.js$/, "");
      assert.ok(PURE.includes(target), `${name} imports ${target}`);
    }
  }
});

test("nothing is fetched from outside", () => {
  for (const path of [...modules(), join(STATIC, "index.html"), ...readdirSync(join(STATIC, "css")).map((f) => join(STATIC, "css", f))]) {
    assert.doesNotMatch(readFileSync(path, "utf8").replaceAll("http://www.w3.org/", ""), /https?:\/\//, path);
  }
});

function tokens(block) {
  return Object.fromEntries([...block.matchAll(/--([\w-]+): (#[0-9a-f]{6})/g)].map(([, name, hex]) => [name, hex]));
}

function luminance(hex) {
  const [r, g, b] = [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16) / 255)
    .map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

function contrast(a, b) {
  const [low, high] = [luminance(a), luminance(b)].sort((x, y) => x - y);
  return (high + 0.05) / (low + 0.05);
}

test("every colour that carries text stands out from its ground by 4.5 to 1, by day and by night", () => {
  const css = readFileSync(join(STATIC, "css", "tokens.css"), "utf8");
  const day = tokens(css.slice(0, css.indexOf("@media")));
  const night = tokens(css.slice(css.indexOf('[data-theme="dark"]')));
  const system = tokens(css.slice(css.indexOf("@media"), css.indexOf('[data-theme="dark"]')));
  assert.deepEqual(system, night);
  for (const [when, light] of Object.entries({ day, night })) {
    for (const text of ["ink", "soft", "chalk", "ochre", "brick", "lichen"]) {
      for (const ground of ["paper", "margin"]) {
        assert.ok(contrast(light[text], light[ground]) >= 4.5, `${when}: ${text} on ${ground} ${contrast(light[text], light[ground]).toFixed(2)}`);
      }
    }
    assert.ok(contrast(light["on-chalk"], light.chalk) >= 4.5, when);
    assert.ok(contrast(light.ink, light.wash) >= 4.5, when);
    assert.ok(contrast(light.edge, light.paper) >= 3, `${when}: edge`);
  }
});
