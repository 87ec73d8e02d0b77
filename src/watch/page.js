// Shows what the program last read, asks for what is newer, and points at a finding on its drawing.
"use strict";

const SVG = "http://www.w3.org/2000/svg";
const RETRY = 1000;
const at = (id) => document.getElementById(id);

/** An element of a class with a text; what a plan says is text and never markup. */
function element(name, kind, text) {
  const made = document.createElement(name);
  if (kind) made.className = kind;
  if (text !== undefined) made.textContent = text;
  return made;
}

let version = 0;
let pointed = null;

function drawing(room) {
  const figure = element("figure");
  figure.dataset.room = room.name;
  const picture = new DOMParser().parseFromString(room.svg, "image/svg+xml").documentElement;
  figure.append(document.importNode(picture, true));
  return figure;
}

function finding(found) {
  const item = element("li", found.severity);
  const button = element("button");
  button.type = "button";
  button.dataset.finding = found.number;
  const agreed = found.agreed === null ? "" : ", agreed to";
  button.append(element("span", "head", `${found.number}. ${found.severity}: ${found.rule}${agreed}`));
  button.append(element("span", "message", found.message));
  if (found.agreed !== null) button.append(element("span", "advice", `Agreed: ${found.agreed}`));
  if (found.advice !== null) button.append(element("span", "advice", `Advice: ${found.advice}`));
  const where = found.spot === null ? ", at no one place of the drawing" : "";
  button.append(element("span", "place", found.place + where));
  button.addEventListener("click", () => point(found, true));
  item.append(button);
  return item;
}

/** Rings the place of a finding on its drawing. */
function point(found, scroll) {
  pointed = found.number;
  document.querySelectorAll(".pointer").forEach((old) => old.remove());
  document.querySelectorAll("#findings button").forEach((button) => {
    const own = Number(button.dataset.finding) === found.number;
    if (own) button.setAttribute("aria-current", "true");
    else button.removeAttribute("aria-current");
  });
  if (found.spot === null) return;
  const [room, x, y] = found.spot;
  const picture = at("drawings").querySelectorAll("figure > svg")[room];
  if (!picture) return;
  const ring = document.createElementNS(SVG, "circle");
  ring.setAttribute("class", "pointer");
  ring.setAttribute("cx", x);
  ring.setAttribute("cy", y);
  ring.setAttribute("r", 5);
  ring.dataset.finding = found.number;
  picture.append(ring);
  if (scroll) ring.scrollIntoView({ block: "center", inline: "center" });
}

function show(told) {
  version = told.version;
  at("problem").hidden = told.problem === null;
  if (at("problem-text").textContent !== (told.problem ?? "")) at("problem-text").textContent = told.problem ?? "";
  document.body.classList.toggle("stale", told.stale);
  const view = told.view;
  if (view === null) {
    at("status").textContent = "Nothing can be drawn yet.";
    return;
  }
  document.title = `${view.file} - layrule`;
  at("file").textContent = view.file;
  at("status").textContent = told.stale
    ? "The drawing is of the last text that could be read."
    : `${view.summary}. Drawn afresh whenever the plan is saved.`;
  at("drawings").replaceChildren(...view.rooms.map(drawing));
  at("findings").replaceChildren(...view.findings.map(finding));
  at("none").hidden = view.findings.length > 0;
  const again = view.findings.find((found) => found.number === pointed);
  if (again) point(again, false);
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

keepFresh();
