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
const HANDOVERS = { bathroom: [7, 0], "flat-6": [13, 0], "garden-room": [8, 0] };

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

/** On a laptop's screen the room is large, zooms and moves, tells coordinates, and leads from a run to its line and back. */
async function lookedAt(page) {
  const figure = page.locator("figure:not([hidden])");
  const outline = figure.locator("[id$=outline]").first();
  const [all, own] = [await figure.boundingBox(), await outline.boundingBox()];
  assert.ok(Math.max(own.width / all.width, own.height / all.height) > 0.55, `the room takes ${own.width} by ${own.height} px`);
  assert.ok(await page.evaluate(() => document.documentElement.scrollHeight <= window.innerHeight), "the page is scrolled");
  assert.equal(await page.locator(".list-entry").count(), 0, "findings are listed twice");
  const floor = async () => (await page.locator("#where").textContent()).match(/x (-?\d+), y (-?\d+) mm/).slice(1).map(Number);
  // The outline's corner in the south-west is the plan's origin.
  await page.mouse.move(own.x + 1, own.y + own.height - 1);
  const [x, y] = await floor();
  assert.ok(Math.abs(x) < 25 && Math.abs(y) < 25, `the pointer is at ${x}, ${y}`);
  for (const [turns, wide] of [[1, 1.1], [2, 1.5]]) {
    for (let turn = 0; turn < turns; turn += 1) await page.mouse.wheel(0, -120);
    await page.waitForFunction(([least]) => {
      const outline = document.querySelector("figure:not([hidden]) [id$=outline]");
      return outline.getBoundingClientRect().width > least;
    }, [wide * own.width]);
  }
  const larger = await outline.boundingBox();
  // What is under the pointer stays there.
  await page.mouse.move(own.x + 2, own.y + own.height - 1);
  const [stillX, stillY] = await floor();
  assert.ok(Math.abs(stillX) < 25 && Math.abs(stillY) < 25, `zooming moved it to ${stillX}, ${stillY}`);
  await page.mouse.down();
  await page.mouse.move(own.x + 102, own.y + own.height - 61, { steps: 4 });
  await page.mouse.up();
  const pulled = await outline.boundingBox();
  assert.ok(Math.abs(pulled.x - larger.x - 100) < 8 && Math.abs(pulled.y - larger.y + 60) < 8, "dragging doesn't move it");
  await figure.focus();
  for (const key of ["+", "-", "ArrowLeft", "1", "0"]) await page.keyboard.press(key);
  const again = await outline.boundingBox();
  assert.ok(Math.abs(again.width - own.width) < 2 && Math.abs(again.x - own.x) < 2, "0 doesn't show the room");
  const run = await page.evaluate(() => {
    const path = document.querySelector("figure:not([hidden]) .runs");
    const start = path.getPointAtLength(400).matrixTransform(path.getScreenCTM());
    return [start.x, start.y];
  });
  await page.mouse.click(...run);
  const words = await page.locator("#picked").textContent();
  const line = words.match(/^run 1 of cable a, line (\d+)$/)?.[1];
  assert.ok(line, words);
  const own_line = page.locator(`#lines [data-line="${line}"]`);
  assert.match(await own_line.getAttribute("class"), /picked/);
  assert.ok((await own_line.textContent()).match(/run|loops/), "the line lays no run");
  assert.equal(await page.locator("path.picked-run").count(), 1);
  await own_line.click();
  assert.match(await page.locator("#picked").textContent(), new RegExp(`^line ${line} lays `));
  assert.equal(await page.locator("path.picked-run").count(), 1);
  await accessible(page, "watch, a run picked");
}

/** Without script the drawing is there, and a finding's link leads to its place. */
async function withoutScript(address) {
  const other = await chromium.launch({ executablePath: browserPath, headless: true, args: ["--no-sandbox", "--disable-gpu"] });
  try {
    const page = await (await other.newContext({ javaScriptEnabled: false })).newPage();
    await page.goto(address);
    assert.ok((await page.locator("figure svg .plan path").count()) > 0, "nothing is drawn without script");
    const link = page.locator("#findings a", { hasText: "crossing" }).first();
    const to = await link.getAttribute("href");
    await link.click();
    assert.equal(await page.locator(`${to}:target .spot`).count() > 0, true, `${to} leads nowhere`);
  } finally {
    await other.close();
  }
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
    await page.setViewportSize({ width: 1366, height: 768 });
    const middle = (box) => [box.x + box.width / 2, box.y + box.height / 2];
    const [[x, y], [ownX, ownY]] = [middle(ring), middle(spot)];
    assert.ok(Math.hypot(x - ownX, y - ownY) < 4, `the ring is at ${x}, ${y} and the finding at ${ownX}, ${ownY}`);
    assert.equal(await first.getAttribute("aria-current"), "true");
    await first.focus();
    await page.keyboard.press("Enter");
    await page.waitForSelector("circle.pointer");
    await accessible(page, "watch, pointing");
    await lookedAt(page);
    await withoutScript(address);
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
