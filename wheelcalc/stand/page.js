"use strict";
// One screen at a time. All computing is done by the server; the page shows, asks and sends.
const token = new URLSearchParams(location.search).get("t") || "";
const COLUMNS = [
  ["lateral_mm", "sideways, mm, + right"],
  ["radial_mm", "up and down, mm, + outward"],
  ["tension_N", "tension, N"],
];
const screen = document.getElementById("screen");
const said = document.getElementById("said");
let state = null;
let before = null; // what the last advice showed, to compare with

function make(name, attributes = {}, ...children) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else if (value !== false && value !== null) element.setAttribute(key, value === true ? "" : value);
  }
  element.append(...children.filter((child) => child !== null && child !== undefined));
  return element;
}
const button = (words, act, kind = "") => make("button", { type: "button", class: kind, onclick: act }, words);
function show(...parts) {
  said.textContent = "";
  screen.replaceChildren(...parts.filter(Boolean));
  screen.focus();
  window.scrollTo(0, 0);
}
async function ask(path, body) {
  const sound = body instanceof Blob;
  const options = body === undefined ? {} : { method: "POST", body: sound ? body : JSON.stringify(body) };
  options.headers = { "X-Token": token };
  let answer;
  try { answer = await fetch(path, options); }
  catch { throw new Error("The program does not answer. Is it still running? What was saved is in the log."); }
  const found = await answer.json();
  if (!answer.ok) throw new Error(found.error);
  return found;
}
const tell = (error) => { said.textContent = error.message; };
async function refresh() {
  state = await ask("state");
  document.getElementById("title").textContent = state.title;
  const now = current();
  document.getElementById("where").textContent = `Pass ${now}, ${state.holes} holes. Saved in ${state.log}`;
}
const cells = (number) => state.passes[number - 1] || {};
const filled = (number, column) => Object.keys(cells(number)[column] || {}).length;
const anyRead = (number) => COLUMNS.some(([column]) => filled(number, column));
function current() {
  const last = Math.max(1, state.passes.length);
  return filled(last, "turned") ? last + 1 : last;
}

async function home() {
  try { await refresh(); } catch (error) { show(make("h2", {}, "Not let in")); return tell(error); }
  const now = current();
  const rows = Object.entries(state.targets).map(([side, each]) => make("tr", {}, make("th", { scope: "row" }, side),
    make("td", {}, `${Math.round(each.target_N)}`), make("td", {}, `${Math.round(each.low_N)}-${Math.round(each.high_N)}`),
    make("td", {}, each.pitch_hz ? `${Math.round(each.pitch_hz)} (${each.note})` : "-")));
  const head = make("tr", {}, ...["side", "target N", "allowed N", "note Hz"].map((word) => make("th", { scope: "col" }, word)));
  show(
    make("h2", {}, `Pass ${now}`),
    state.cut_off ? make("p", { class: "finding" }, `The log's last line was cut short (${state.cut_off}) and is left out; read that hole again.`) : null,
    make("table", {}, make("thead", {}, head), make("tbody", {}, ...rows)),
    make("div", { class: "row" }, ...COLUMNS.map(([column, words]) =>
      button(`Read ${words.split(",")[0]} (${filled(now, column)} of ${state.holes})`, () => read(column)))),
    make("div", { class: "row" }, button("Which nipples to turn", advise, "main")),
    make("div", { class: "row" }, button("Listen to a recording", listen), button("A spoke has broken", broken)),
  );
}

function read(column, hole) {
  const now = current();
  const words = COLUMNS.find(([name]) => name === column)[1];
  const done = cells(now)[column] || {};
  const at = hole || Array.from({ length: state.holes }, (_, i) => i + 1).find((each) => !(each in done)) || 1;
  const input = make("input", { inputmode: "decimal", autocomplete: "off", id: "value", value: at in done ? done[at] : "" });
  const next = () => (at < state.holes ? read(column, at + 1) : home());
  const save = async () => {
    const text = input.value.trim().replace(",", ".");
    if (text === "") return next();
    if (!/^[+-]?(\d+\.?\d*|\.\d+)$/.test(text)) return tell(new Error("A number alone, such as -0.35; or skip."));
    try {
      await ask("read", { pass: now, rim_hole: at, column, value: Number(text) });
      state.passes[now - 1] = cells(now);
      (state.passes[now - 1][column] ||= {})[at] = Number(text);
      next();
    } catch (error) { tell(error); }
  };
  const key = (sign) => () => {
    if (sign === "back") input.value = input.value.slice(0, -1);
    else if (sign === "+/-") input.value = input.value.startsWith("-") ? input.value.slice(1) : `-${input.value}`;
    else input.value += sign;
  };
  const pad = ["1", "2", "3", "4", "5", "6", "7", "8", "9", "+/-", "0", "."].map((sign) => button(sign, key(sign)));
  const form = make("form", { onsubmit: (event) => { event.preventDefault(); save(); } },
    make("label", { class: "field" }, words, input),
    make("div", { class: "pad" }, ...pad),
    make("div", { class: "row" }, make("button", { class: "main" }, "Save, next hole"), button("Delete", key("back"))),
    make("div", { class: "row" }, button("Back one", () => read(column, Math.max(1, at - 1))), button("Skip", next), button("Stop here", home)));
  show(make("h2", {}, `Rim hole ${at}, ${state.sides[at - 1]}`), strip(done, at), form);
  input.focus();
}

function strip(values, at) {
  const found = Object.entries(values).map(([hole, value]) => [Number(hole), value]);
  const low = Math.min(0, ...found.map((each) => each[1])), high = Math.max(0, ...found.map((each) => each[1]));
  const size = high - low || 1;
  const x = (hole) => (360 * (hole - 0.5)) / state.holes, y = (value) => 62 - (54 * (value - low)) / size;
  const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  const draw = (name, attributes) => {
    const element = document.createElementNS(svg.namespaceURI, name);
    for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
    svg.append(element);
  };
  svg.setAttribute("viewBox", "0 0 360 70");
  svg.setAttribute("role", "img");
  svg.setAttribute("aria-label", `${found.length} of ${state.holes} read, from the valve to the valve`);
  draw("line", { x1: 0, x2: 360, y1: y(0), y2: y(0), class: "mark", "stroke-dasharray": "3 3" });
  draw("line", { x1: x(at), x2: x(at), y1: 2, y2: 68, class: "mark" });
  for (const [hole, value] of found) draw("circle", { cx: x(hole), cy: y(value), r: 2.5 });
  return svg;
}

async function advise() {
  said.textContent = "Working it out ...";
  let found;
  try { await refresh(); found = await ask("advise", {}); } catch (error) { return tell(error); }
  const number = Math.max(1, state.passes.length);
  const turned = cells(number).turned || {};
  const findings = found.findings.map((each) => make("div", { class: `finding ${each.level}` },
    make("strong", {}, `${each.level}: `), `${each.text} ${each.remedy}`));
  const again = found.left_out.map((each) => button(
    `Read hole ${each.rim_hole} again: ${each.value} looks wrong, about ${each.likely.toFixed(2)} expected`,
    () => read(each.column.includes("_") ? each.column : `${each.column}_mm`, each.rim_hole)));
  const ticks = found.turns.map((each) => {
    const box = make("input", { type: "checkbox", checked: each.rim_hole in turned });
    const label = make("label", { class: "tick" }, box,
      `${each.turns > 0 ? "\u21bb" : "\u21ba"} hole ${each.rim_hole}, ${each.side}: ${each.words}`);
    box.addEventListener("change", async () => {
      try {
        await ask("read", { pass: number, rim_hole: each.rim_hole, column: "turned", value: box.checked ? each.turns : 0 });
        label.classList.toggle("ticked", box.checked);
      } catch (error) { box.checked = !box.checked; tell(error); }
    });
    return label;
  });
  const figure = (name, digits) => make("tr", {}, make("th", { scope: "row" }, name.replace("_mm", ", mm")),
    ...["before", "now", "after", "after_reads"].map((when) => make("td", {}, number_of(found[when], name, digits))));
  const table = make("table", {}, make("thead", {}, make("tr", {}, ...["", "as read", "now", "after", "next readings"].map((word) => make("th", { scope: "col" }, word)))),
    make("tbody", {}, figure("lateral_mm", 2), figure("radial_mm", 2), figure("dish_mm", 2)));
  const picture = make("img", { alt: "The wheel from valve to valve, now and after the turns", src: `data:image/svg+xml,${encodeURIComponent(found.strip)}` });
  const last = before ? make("details", {}, make("summary", {}, "The strip of the pass before"), before.cloneNode()) : null;
  before = picture;
  show(make("h2", {}, found.verdict), ...findings, ...again, ...ticks,
    ticks.length ? make("p", {}, "Tighter is clockwise, seen from the tyre. Tick each nipple as you turn it; then read again.") : null,
    table, picture, last,
    found.done ? make("p", { class: "finding" }, "Before the first ride: spin it and listen, squeeze the spokes in pairs, try the brakes at a walk. After 50 km read it again.") : null,
    make("div", { class: "row" }, button(ticks.length ? "Turned: read again" : "Back", home, "main")));
}
function number_of(figures, name, digits) {
  const value = figures && figures[name];
  return typeof value === "number" ? value.toFixed(digits) : "-";
}

function broken() {
  const input = make("input", { inputmode: "numeric", autocomplete: "off" });
  const place = make("div");
  const form = make("form", { onsubmit: async (event) => {
    event.preventDefault();
    try {
      const found = await ask("broken", { rim_hole: Number.parseInt(input.value, 10) || 0 });
      place.replaceChildren(...new DOMParser().parseFromString(found.html, "text/html").body.children);
      for (const style of place.querySelectorAll("style")) style.remove();
    } catch (error) { tell(error); }
  } }, make("label", { class: "field" }, "Rim hole of the broken spoke", input),
  make("div", { class: "row" }, make("button", { class: "main" }, "What to do"), button("Back", home)));
  show(make("h2", {}, "A spoke has broken"), form, place);
  input.focus();
}

function listen() {
  const field = make("input", { type: "file", accept: "audio/*", capture: true, "aria-label": "Recording" });
  const place = make("div");
  field.addEventListener("change", async () => {
    said.textContent = "Listening ...";
    try {
      const found = await ask("hear", await wav(field.files[0]));
      const sure = found.plucks.filter((each) => each.rim_hole && each.tension_N && each.confidence >= 0.9 && (each.assigned ?? 0) >= 0.9);
      const rows = found.plucks.map((each) => make("li", {},
        `${each.at_s.toFixed(1)} s: ${each.pitch_hz ? `${Math.round(each.pitch_hz)} Hz` : "no clear note"}, ` +
        `${each.rim_hole ? `hole ${each.rim_hole}` : "hole unknown"}, ${each.tension_N ? `${Math.round(each.tension_N)} N` : "-"}` +
        (sure.includes(each) ? "" : " - pluck again")));
      place.replaceChildren(
        ...found.findings.map((each) => make("div", { class: `finding ${each.level}` }, `${each.text} ${each.remedy}`)),
        make("ul", {}, ...rows),
        button(`Keep ${sure.length} sure ones`, async () => {
          for (const each of sure) await ask("read", { pass: current(), rim_hole: each.rim_hole, column: "tension_N", value: each.tension_N });
          home();
        }, "main"));
      said.textContent = "";
    } catch (error) { tell(error); }
  });
  show(make("h2", {}, "Listen to a recording"), make("p", {}, "Pluck each spoke in turn from the valve on, half a second apart."), field, place,
    make("div", { class: "row" }, button("Back", home)));
}
async function wav(file) {
  const context = new AudioContext();
  let sound;
  try { sound = await context.decodeAudioData(await file.arrayBuffer()); }
  catch { throw new Error("This browser cannot read that recording; record it anew, or as WAV."); }
  const samples = sound.getChannelData(0), out = new DataView(new ArrayBuffer(44 + 2 * samples.length));
  const letters = (at, text) => [...text].forEach((letter, i) => out.setUint8(at + i, letter.charCodeAt(0)));
  letters(0, "RIFF"); out.setUint32(4, 36 + 2 * samples.length, true); letters(8, "WAVEfmt ");
  out.setUint32(16, 16, true); out.setUint16(20, 1, true); out.setUint16(22, 1, true);
  out.setUint32(24, sound.sampleRate, true); out.setUint32(28, 2 * sound.sampleRate, true);
  out.setUint16(32, 2, true); out.setUint16(34, 16, true); letters(36, "data"); out.setUint32(40, 2 * samples.length, true);
  samples.forEach((value, i) => out.setInt16(44 + 2 * i, 32767 * Math.max(-1, Math.min(1, value)), true));
  return new Blob([out], { type: "audio/wav" });
}
home();
