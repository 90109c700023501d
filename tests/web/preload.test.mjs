/** The list of what the page needs at once is kept by hand in index.html; here it is held to be true. */
import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { test } from "node:test";

const WEB = new URL("../../web/", import.meta.url);

/** Every module that these lead to by static imports. */
async function reached(...starts) {
  const found = new Set();
  const next = [...starts];
  while (next.length) {
    const path = next.pop();
    if (found.has(path)) continue;
    found.add(path);
    const text = await readFile(new URL(`.${path}`, WEB), "utf8");
    for (const [, to] of text.matchAll(/^(?:import|export)\b[^;"]*?"(\.[^"]+)";/gm)) {
      next.push(new URL(to, `http://page${path}`).pathname);
    }
  }
  return found;
}

test("index.html names every module of the first screen, and no other", async () => {
  const html = await readFile(new URL("./index.html", WEB), "utf8");
  const listed = [...html.matchAll(/rel="modulepreload" href="([^"]+)"/g)].map(([, path]) => path);
  const wanted = await reached("/app/main.js", "/app/screens/surveys.js");
  assert.deepEqual([...listed].sort(), [...wanted].sort());
});

test("index.html names a style for each part and screen that has one", async () => {
  const html = await readFile(new URL("./index.html", WEB), "utf8");
  const styles = [...html.matchAll(/rel="stylesheet" href="([^"]+)"/g)].map(([, path]) => path);
  for (const path of styles) await readFile(new URL(`.${path}`, WEB));
  const beside = styles.filter((path) => path.startsWith("/app/"));
  for (const path of beside) await readFile(new URL(`.${path.replace(/css$/, "js")}`, WEB));
  assert.ok(beside.length > 5);
});
