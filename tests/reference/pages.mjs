// Opens the pages that the program writes and serves in a browser: that they are drawn, that the accessibility engine axe finds nothing
// wrong, that they print on as many sheets as they should, that a click and a saved edit do what they say.
//
// node pages.mjs NODE_FOLDER PROGRAM CHROMIUM

import { spawn, spawnSync } from "node:child_process";
import assert from "node:assert/strict";
import { copyFileSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { createInterface } from "node:readline";

const [nodeFolder, program, browserPath] = process.argv.slice(2);
const require = createRequire(join(resolve(nodeFolder), "node_modules/"));
const { chromium } = require("playwright-core");
const axe = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");
const root = resolve(import.meta.dirname ?? ".", "../..");
const folder = mkdtempSync(join(tmpdir(), "pages-"));
const layrule = resolve(program);

// How many sheets of A4 each handover takes, and how many of them lie on their side: a page of schedules and a sheet of drawing a room, one
// or two of record, the leaflet by itself, one or two of floor and heat, one for findings and signatures where they no longer fit.
const HANDOVERS = { bathroom: [7, 0], "flat-6": [13, 0], "garden-room": [8, 1] };

const context = await chromium.launchPersistentContext(join(folder, "profile"), {
  executablePath: browserPath,
  headless: true,
  args: [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
  ],
  viewport: { width: 1280, height: 900 },
});

/** A page on which every error is kept, and every request that leaves this machine. */
async function open(address) {
  const page = await context.newPage();
  const wrong = [];
  page.on("console", (message) => {
    if (["error", "warning"].includes(message.type())) wrong.push(message.text());
  });
  page.on("pageerror", (error) => wrong.push(String(error)));
  page.on("request", (request) => {
    if (!request.url().startsWith(address.slice(0, 16))) wrong.push(`asks for ${request.url()}`);
  });
  await page.goto(address);
  return { page, wrong };
}

/** What the accessibility engine finds wrong: WCAG 2.2 A and AA, and its best practices. */
async function accessible(page, where) {
  await page.evaluate(axe);
  const { violations } = await page.evaluate(() => globalThis.axe.run(document, {
    runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
  }));
  const told = violations.map(({ id, help, nodes }) => `${id}: ${help}: ${nodes.slice(0, 3).map(({ html }) => html.slice(0, 160)).join(" | ")}`);
  assert.deepEqual(told, [], where);
}

/** Sheets of a PDF, each with its width and height in points. */
function sheets(pdf) {
  const text = pdf.toString("latin1");
  const pages = text.match(/\/Type\s*\/Page\b(?!s)/g) ?? [];
  const boxes = [...text.matchAll(/\/MediaBox\s*\[\s*0\s+0\s+([\d.]+)\s+([\d.]+)\s*\]/g)].map((box) => [Number(box[1]), Number(box[2])]);
  assert.equal(pages.length, boxes.length);
  return boxes;
}

async function handovers() {
  for (const [name, [count, wide]] of Object.entries(HANDOVERS)) {
    const file = join(folder, `${name}.html`);
    const made = spawnSync(layrule, ["handover", `examples/${name}.lay`, "--date", "2026-11-25", "-o", file], { cwd: root });
    assert.equal(made.status, 0, made.stderr.toString());
    const { page, wrong } = await open(`file://${file}`);
    for (const picture of await page.locator("figure svg").all()) {
      const box = await picture.boundingBox();
      assert.ok(box.width > 400 && box.height > 100, `${name}: a picture of ${JSON.stringify(box)}`);
    }
    assert.ok((await page.locator("figure.sheet svg .plan path").count()) > 0, `${name}: nothing is drawn`);
    // Nothing sticks out to the side.
    assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= window.innerWidth), `${name} is too wide`);
    await accessible(page, name);
    const printed = sheets(await page.pdf({ preferCSSPageSize: true }));
    assert.equal(printed.length, count, `${name} takes ${printed.length} sheets`);
    for (const [width, height] of printed) {
      // A4 is 210 mm by 297 mm (ISO 216), 595.3 by 841.9 points.
      assert.ok(Math.abs(Math.min(width, height) - 595.3) < 1 && Math.abs(Math.max(width, height) - 841.9) < 1, `${name}: ${width} by ${height}`);
    }
    assert.equal(printed.filter(([width, height]) => width > height).length, wide, `${name}: sheets on their side`);
    await onPhone(page, name);
    assert.deepEqual(wrong, [], name);
    await page.close();
  }
}

/** What a learner gets: its drawing is there, it is no wider than a phone, and nothing of it gives a mistake away. */
async function taskSheets() {
  const class_ = join(folder, "class");
  const made = spawnSync(layrule, ["exercise", "examples/bathroom.lay", "--date", "2026-11-25", "--seed", "7", "--output", class_], { cwd: root });
  assert.equal(made.status, 0, made.stderr.toString());
  const { page, wrong } = await open(`file://${join(class_, "task.html")}`);
  assert.ok((await page.locator("figure svg .plan path").count()) > 0, "the task sheet shows no drawing");
  await accessible(page, "task sheet");
  for (const [width, height] of sheets(await page.pdf({ preferCSSPageSize: true }))) {
    assert.ok(Math.abs(Math.min(width, height) - 595.3) < 1, `task sheet: ${width} by ${height}`);
  }
  await page.setViewportSize({ width: 360, height: 740 });
  assert.equal(await page.evaluate(() => document.documentElement.scrollWidth), 360, "the task sheet is scrolled sideways at 360 px");
  await accessible(page, "task sheet on a phone");
  assert.deepEqual(wrong, [], "task sheet");
  await page.close();
}

/** On a phone, by day and in the dark: nothing is scrolled sideways, a drawing is enlarged by its link and leaves again, axe finds nothing. */
async function onPhone(page, name) {
  await page.setViewportSize({ width: 360, height: 740 });
  for (const colorScheme of ["light", "dark"]) {
    await page.emulateMedia({ colorScheme });
    const wide = await page.evaluate(() => {
      const all = [document.documentElement, ...document.querySelectorAll("main *")].filter((one) => !one.closest("svg"));
      const out = all.filter((one) => one.scrollWidth > one.clientWidth + 1 && getComputedStyle(one).overflowX !== "hidden" && one.clientWidth > 1);
      return { page: document.documentElement.scrollWidth, out: out.map((one) => `${one.tagName}.${one.className}`) };
    });
    assert.deepEqual(wide, { page: 360, out: [] }, `${name} is scrolled sideways at 360 px`);
    await accessible(page, `${name} on a phone, ${colorScheme}`);
  }
  await page.emulateMedia({ colorScheme: "light" });
  const drawing = page.locator("figure.sheet svg").first();
  const before = (await drawing.boundingBox()).width;
  await page.locator("figure.sheet a.enlarge").first().click();
  assert.ok((await drawing.boundingBox()).width > 3 * before, `${name}: its drawing stays small`);
  assert.equal(await page.evaluate(() => document.documentElement.scrollWidth), 360);
  await accessible(page, `${name}, a drawing enlarged`);
  await page.locator("figure.sheet a.shrink").first().click();
  assert.equal((await drawing.boundingBox()).width, before);
}

async function watched() {
  const plan = join(folder, "plan.lay");
  copyFileSync(join(root, "examples/kits.lay"), join(folder, "kits.lay"));
  const text = readFileSync(join(root, "examples/faults/crossing.lay"), "utf8").replace("../kits.lay", "kits.lay");
  writeFileSync(plan, text);
  const child = spawn(layrule, ["watch", plan, "--project", folder, "--date", "2026-11-25"], { stdio: ["ignore", "pipe", "ignore"] });
  const ended = new Promise((done) => child.on("exit", (code) => done(code)));
  try {
    const address = await new Promise((done, failed) => {
      createInterface({ input: child.stdout }).once("line", done);
      child.once("exit", () => failed(new Error("it ended")));
    });
    const { page, wrong } = await open(address);
    await page.waitForSelector("figure svg .plan path", { state: "attached" });
    const first = page.locator("#findings button", { hasText: "crossing" }).first();
    await accessible(page, "watch");
    await first.click();
    const ring = await page.locator("circle.pointer").boundingBox();
    const number = await first.getAttribute("data-finding");
    // The drawing's own mark has a spot where the finding is: the ring lies round it.
    const marks = page.locator(".findings .finding", { has: page.locator(`[data-finding="${number}"]`) });
    const spot = await marks.locator(".spot").first().boundingBox();
    const middle = (box) => [box.x + box.width / 2, box.y + box.height / 2];
    const [[x, y], [ownX, ownY]] = [middle(ring), middle(spot)];
    assert.ok(Math.hypot(x - ownX, y - ownY) < 4, `the ring is at ${x}, ${y} and the finding at ${ownX}, ${ownY}`);
    assert.equal(await first.getAttribute("aria-current"), "true");
    await first.focus();
    await page.keyboard.press("Enter");
    await page.waitForSelector("circle.pointer");
    await accessible(page, "watch, pointing");
    // A saved edit.
    writeFileSync(plan, text.replace('"Cloakroom"', '"Renamed room"'));
    await page.getByText("Renamed room").first().waitFor({ state: "attached", timeout: 10_000 });
    // Text that can't be read.
    writeFileSync(plan, text.replace("start", "strat"));
    await page.waitForSelector("#problem:not([hidden])", { timeout: 10_000 });
    assert.ok((await page.locator("#problem-text").textContent()).includes("plan.lay:"));
    assert.ok((await page.locator("figure svg .plan path").count()) > 0, "the last drawing is gone");
    await accessible(page, "watch, with a problem");
    writeFileSync(plan, text);
    await page.waitForSelector("#problem[hidden]", { state: "attached", timeout: 10_000 });
    assert.deepEqual(wrong, []);
    await page.close();
  } finally {
    child.kill("SIGINT");
  }
  assert.equal(await ended, 0, "it ends well");
}

try {
  await handovers();
  await taskSheets();
  await watched();
  console.log(`${Object.keys(HANDOVERS).length} handovers, a task sheet and the watched page: drawn, printed, pointed at, drawn afresh; nothing wrong`);
} finally {
  await context.close();
  rmSync(folder, { recursive: true, force: true });
}
