// Shows what the program last read, asks for what is newer, points at findings, and leads from runs to lines and back.
"use strict";

const SVG = "http://www.w3.org/2000/svg";
const RETRY = 1000;
/** How far from a run a click still means it, px. */
const NEAR = 8;
/** The least and the most that is shown across, mm of paper. */
const [CLOSEST, FARTHEST] = [8, 1200];
const at = (id) => document.getElementById(id);

/** An element of a class with a text; what a plan says is text and never markup. */
function element(name, kind, text) {
  const made = document.createElement(name);
  if (kind) made.className = kind;
  if (text !== undefined) made.textContent = text;
  return made;
}

let version = 0;
let view = null;
let shown = 0;
let pointed = null;
let picked = null;
/** What part of its sheet each room shows, by the room's name: x, y, width, height, mm of paper. */
const parts = new Map();

const picture = () => at("drawings").querySelectorAll("figure > svg")[shown];

// ── What part of the sheet is shown ──

function sheetOf(svg) {
  return svg.dataset.sheet.split(" ").map(Number);
}

/** The box round the room with its dimensions and labels. */
function roomOf(svg) {
  const boxes = [...svg.querySelectorAll(":scope > .plan, :scope > .labels")].map((group) => group.getBoundingClientRect());
  const kept = boxes.filter((box) => box.width > 0 && box.height > 0);
  if (kept.length === 0) return sheetOf(svg);
  const low = onPaper(svg, Math.min(...kept.map((box) => box.left)), Math.min(...kept.map((box) => box.top)));
  const high = onPaper(svg, Math.max(...kept.map((box) => box.right)), Math.max(...kept.map((box) => box.bottom)));
  return [low.x - 3, low.y - 3, high.x - low.x + 6, high.y - low.y + 6];
}

function onPaper(svg, x, y) {
  return new DOMPoint(x, y).matrixTransform(svg.getScreenCTM().inverse());
}

function showPart(svg, part) {
  svg.setAttribute("viewBox", part.map((value) => value.toFixed(3)).join(" "));
  parts.set(svg.parentElement.dataset.room, part);
}

function partOf(svg) {
  return svg.getAttribute("viewBox").split(" ").map(Number);
}

/** Shows less or more of it, keeping a place where it is. */
function zoom(svg, by, place) {
  const [x, y, wide, high] = partOf(svg);
  const factor = Math.min(Math.max(wide * by, CLOSEST), FARTHEST) / wide;
  const fixed = place ?? { x: x + wide / 2, y: y + high / 2 };
  showPart(svg, [fixed.x - (fixed.x - x) * factor, fixed.y - (fixed.y - y) * factor, wide * factor, high * factor]);
}

function pan(svg, x, y) {
  const part = partOf(svg);
  showPart(svg, [part[0] + x, part[1] + y, part[2], part[3]]);
}

/** Brings a place of the paper into what is shown. */
function reveal(svg, x, y) {
  const [left, top, wide, high] = partOf(svg);
  if (x > left + wide * 0.05 && x < left + wide * 0.95 && y > top + high * 0.05 && y < top + high * 0.95) return;
  showPart(svg, [x - wide / 2, y - high / 2, wide, high]);
}

// ── Pointers and keys ──

const pointers = new Map();
let moved = 0;

function floorAt(room, place) {
  return { x: (place.x - room.origin[0]) * room.scale, y: (room.origin[1] - place.y) * room.scale };
}

function tellWhere(event) {
  const svg = picture();
  if (!svg || !view) return;
  const floor = floorAt(view.rooms[shown], onPaper(svg, event.clientX, event.clientY));
  at("where").textContent = `x ${floor.x.toFixed(0)}, y ${floor.y.toFixed(0)} mm`;
}

function listen(figure, svg) {
  figure.tabIndex = 0;
  figure.setAttribute("role", "group");
  figure.setAttribute("aria-label", `${figure.dataset.title}: drag or arrow keys move it, plus and minus zoom, 0 shows the room, 1 the sheet`);
  figure.addEventListener("wheel", (event) => {
    event.preventDefault();
    zoom(svg, Math.exp(Math.sign(event.deltaY) * Math.min(Math.abs(event.deltaY), 100) * 0.002), onPaper(svg, event.clientX, event.clientY));
  }, { passive: false });
  figure.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    if (pointers.size === 0) moved = 0;
    pointers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    figure.setPointerCapture(event.pointerId);
  });
  figure.addEventListener("pointermove", (event) => {
    tellWhere(event);
    const before = pointers.get(event.pointerId);
    if (!before) return;
    const now = { x: event.clientX, y: event.clientY };
    const other = [...pointers].find(([id]) => id !== event.pointerId)?.[1];
    moved += Math.hypot(now.x - before.x, now.y - before.y);
    const [from, to] = [onPaper(svg, before.x, before.y), onPaper(svg, now.x, now.y)];
    if (other) {
      const apart = (one) => Math.max(Math.hypot(one.x - other.x, one.y - other.y), 1);
      zoom(svg, apart(before) / apart(now), onPaper(svg, other.x, other.y));
    } else if (moved > 4) {
      figure.classList.add("dragged");
      pan(svg, from.x - to.x, from.y - to.y);
    }
    pointers.set(event.pointerId, now);
  });
  const end = (event) => {
    const was = pointers.delete(event.pointerId);
    figure.classList.remove("dragged");
    if (was && moved <= 4 && event.type === "pointerup") pickAt(svg, event);
  };
  figure.addEventListener("pointerup", end);
  figure.addEventListener("pointercancel", end);
  figure.addEventListener("pointerleave", () => { at("where").textContent = ""; });
  figure.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const step = partOf(svg)[2] / 10;
    const done = {
      "+": () => zoom(svg, 0.8), "=": () => zoom(svg, 0.8), "-": () => zoom(svg, 1.25),
      0: () => fit(svg, roomOf), 1: () => fit(svg, sheetOf),
      ArrowLeft: () => pan(svg, -step, 0), ArrowRight: () => pan(svg, step, 0),
      ArrowUp: () => pan(svg, 0, -step), ArrowDown: () => pan(svg, 0, step),
    }[event.key];
    if (!done) return;
    event.preventDefault();
    done();
  });
}

function fit(svg, box) {
  if (!svg) return;
  showPart(svg, box(svg));
}

// ── Runs and lines ──

function pickAt(svg, event) {
  const room = view.rooms[shown];
  const place = floorAt(room, onPaper(svg, event.clientX, event.clientY));
  const pixel = room.scale / svg.getScreenCTM().a;
  let best = null;
  for (const run of room.runs) {
    const [x1, y1, x2, y2] = run;
    const [dx, dy] = [x2 - x1, y2 - y1];
    const share = Math.min(Math.max(((place.x - x1) * dx + (place.y - y1) * dy) / (dx * dx + dy * dy || 1), 0), 1);
    const off = Math.hypot(place.x - x1 - dx * share, place.y - y1 - dy * share) / pixel;
    if (off <= NEAR && (best === null || off < best.off)) best = { off, run };
  }
  if (best === null) return pick(null);
  const [, , , , cable, number, line] = best.run;
  pick({ line, runs: [best.run], words: `run ${number} of cable ${room.cables[cable]}${line > 0 ? `, line ${line}` : ", laid in another file"}` });
}

function pickLine(line) {
  for (const [index, room] of view.rooms.entries()) {
    const runs = room.runs.filter((run) => run[6] === line);
    if (runs.length === 0) continue;
    turnTo(index);
    const words = runs.length === 1 ? `run ${runs[0][5]}` : `${runs.length} runs, ${runs[0][5]} to ${runs[runs.length - 1][5]},`;
    return pick({ line, runs, words: `line ${line} lays ${words} of cable ${room.cables[runs[0][4]]}` });
  }
}

/** Shows some runs and the line that lays them. */
function pick(chosen) {
  picked = chosen;
  document.querySelectorAll(".picked-run").forEach((old) => old.remove());
  document.querySelectorAll("#lines .picked").forEach((old) => old.classList.remove("picked"));
  at("picked").textContent = chosen?.words ?? "A click on a run shows its line, one on a line its runs.";
  if (chosen === null) return;
  const svg = picture();
  const room = view.rooms[shown];
  const paper = (x, y) => `${(room.origin[0] + x / room.scale).toFixed(3)} ${(room.origin[1] - y / room.scale).toFixed(3)}`;
  const path = document.createElementNS(SVG, "path");
  path.setAttribute("class", "picked-run");
  path.setAttribute("d", chosen.runs.map(([x1, y1, x2, y2]) => `M${paper(x1, y1)}L${paper(x2, y2)}`).join(""));
  svg.append(path);
  const line = at("lines").querySelector(`[data-line="${chosen.line}"]`);
  if (!line) return;
  line.classList.add("picked");
  const list = at("lines");
  list.scrollTop = line.offsetTop - list.offsetTop - list.clientHeight / 2;
}

function showText() {
  const laid = new Set(view.rooms.flatMap((room) => room.runs.map((run) => run[6])));
  at("text").hidden = view.lines.length === 0;
  at("lines").replaceChildren(...view.lines.map((text, index) => {
    const number = index + 1;
    const line = element(laid.has(number) ? "button" : "div", "line");
    line.dataset.line = number;
    line.append(element("span", "number", number), element("span", "", text));
    if (laid.has(number)) {
      line.type = "button";
      line.addEventListener("click", () => pickLine(number));
    }
    return line;
  }));
}

// ── Rooms and findings ──

function drawing(room) {
  const figure = element("figure");
  figure.dataset.room = room.name;
  figure.dataset.title = room.title;
  const svg = document.importNode(new DOMParser().parseFromString(room.svg, "image/svg+xml").documentElement, true);
  svg.dataset.sheet = svg.getAttribute("viewBox");
  figure.append(svg);
  listen(figure, svg);
  return figure;
}

/** Shows one of the rooms. */
function turnTo(index) {
  if (index !== shown) pick(null);
  shown = index;
  at("drawings").querySelectorAll("figure").forEach((figure, own) => { figure.hidden = own !== index; });
  at("rooms").querySelectorAll("button").forEach((button, own) => button.setAttribute("aria-pressed", own === index));
  const svg = picture();
  if (!svg) return;
  const part = parts.get(svg.parentElement.dataset.room);
  if (part) showPart(svg, part);
  else fit(svg, roomOf);
}

function roomButtons() {
  const buttons = view.rooms.map((room, index) => {
    const button = element("button", "", room.title);
    button.type = "button";
    button.addEventListener("click", () => turnTo(index));
    return button;
  });
  at("rooms").replaceChildren(...(buttons.length > 1 ? buttons : []));
}

function finding(found) {
  const item = element("li", found.severity);
  const button = element("button");
  button.type = "button";
  button.dataset.finding = found.number;
  const agreed = found.agreed === null ? "" : ", agreed to";
  button.append(element("span", "head", `${found.number}. ${found.severity}: ${found.rule}${agreed}`));
  button.append(element("span", "message", found.message));
  if (found.others !== null) button.append(element("span", "message", found.others));
  if (found.agreed !== null) button.append(element("span", "advice", `Agreed: ${found.agreed}`));
  if (found.advice !== null) button.append(element("span", "advice", `Advice: ${found.advice}`));
  const where = found.spot === null ? ", at no one place of the drawing" : "";
  button.append(element("span", "place", found.place + where));
  button.addEventListener("click", () => point(found, true));
  item.append(button);
  return item;
}

/** Rings the place of a finding on its drawing, and marks all that it speaks of there. */
function point(found, move) {
  pointed = found.number;
  document.querySelectorAll(".pointer").forEach((old) => old.remove());
  document.querySelectorAll(".pointed").forEach((old) => old.classList.remove("pointed"));
  document.querySelectorAll("#findings button").forEach((button) => {
    const own = Number(button.dataset.finding) === found.number;
    if (own) button.setAttribute("aria-current", "true");
    else button.removeAttribute("aria-current");
  });
  if (found.spot === null) return;
  const [room, x, y] = found.spot;
  if (move) turnTo(room);
  const svg = at("drawings").querySelectorAll("figure > svg")[room];
  if (!svg) return;
  if (move) reveal(svg, x, y);
  svg.querySelectorAll(`.faults [data-finding="${found.number}"]`).forEach((mark) => mark.classList.add("pointed"));
  const ring = document.createElementNS(SVG, "circle");
  ring.setAttribute("class", "pointer");
  ring.setAttribute("cx", x);
  ring.setAttribute("cy", y);
  ring.setAttribute("r", 5);
  ring.dataset.finding = found.number;
  svg.append(ring);
}

function show(told) {
  version = told.version;
  at("problem").hidden = told.problem === null;
  if (at("problem-text").textContent !== (told.problem ?? "")) at("problem-text").textContent = told.problem ?? "";
  document.body.classList.toggle("stale", told.stale);
  view = told.view;
  if (view === null) {
    at("status").textContent = "Nothing can be drawn yet.";
    return;
  }
  document.title = `${view.file} - layrule`;
  at("file").textContent = view.file;
  at("status").textContent = told.stale
    ? "The drawing is of the last text that could be read."
    : `${view.summary}. Drawn afresh whenever the plan is saved.`;
  const focused = document.activeElement?.closest?.("figure")?.dataset.room;
  const name = at("drawings").querySelectorAll("figure")[shown]?.dataset.room;
  document.body.classList.add("live");
  at("tools").hidden = false;
  at("drawings").replaceChildren(...view.rooms.map(drawing));
  roomButtons();
  shown = Math.max(view.rooms.findIndex((room) => room.name === name), 0);
  picked = null;
  showText();
  turnTo(shown);
  pick(null);
  at("findings").replaceChildren(...view.findings.map(finding));
  at("none").hidden = view.findings.length > 0;
  const again = view.findings.find((found) => found.number === pointed);
  if (again) point(again, false);
  if (focused !== undefined && focused === name) picture()?.parentElement.focus({ preventScroll: true });
}

async function keepFresh() {
  for (;;) {
    try {
      const answer = await fetch(`/view?after=${version}`, { cache: "no-store" });
      if (answer.status === 200) show(await answer.json());
      else if (answer.status !== 204) throw new Error(`status ${answer.status}`);
    } catch {
      at("status").textContent = "The program doesn't answer; the drawing is as it last was.";
      // A program that was started again counts from the start.
      version = 0;
      await new Promise((done) => setTimeout(done, RETRY));
    }
  }
}

at("nearer").addEventListener("click", () => picture() && zoom(picture(), 0.7));
at("farther").addEventListener("click", () => picture() && zoom(picture(), 1.4));
at("whole-room").addEventListener("click", () => fit(picture(), roomOf));
at("whole-sheet").addEventListener("click", () => fit(picture(), sheetOf));
keepFresh();
