// Elements of a screen, and one screen at a time.
const screen = document.getElementById("screen");
const said = document.getElementById("said");
function make(name, attributes = {}, ...children) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else if (value !== false && value !== null) element.setAttribute(key, value === true ? "" : value);
  }
  element.append(...children.filter((child) => child !== null && child !== undefined));
  return element;
}
// A second tap, while what the first one asked for is awaited, does nothing.
function button(words, act, kind = "") {
  let busy = false;
  const once = async () => {
    if (busy) return;
    busy = true;
    try { await act(); } finally { busy = false; }
  };
  return make("button", { type: "button", class: kind, onclick: once }, words);
}
// The screen that was wanted last: an answer that comes after another one was wanted shows nothing.
let wanted = 0;
function want() {
  wanted += 1;
  const mine = wanted;
  return () => mine === wanted;
}
function show(...parts) {
  want();
  said.textContent = "";
  screen.replaceChildren(...parts.filter(Boolean));
  screen.focus();
  window.scrollTo(0, 0);
}
const tell = (error) => { said.textContent = error.message; };
const finding = (words, level = "") => make("div", { class: `finding ${level}` }, words);
// A finger on a key is waited for, not longer than a second: a screen that changes under it would take the key away.
const pause = (ms) => new Promise((done) => { setTimeout(done, ms); });
let down = false;
addEventListener("pointerdown", () => { down = true; });
for (const name of ["pointerup", "pointercancel"]) addEventListener(name, () => setTimeout(() => { down = false; }, 50));
async function lifted() {
  for (let i = 0; down && i < 20; i += 1) await pause(50);
}
// What failed; where another window went on to the next pass, that pass is shown.
async function failed(error) {
  if (error.status === 409) await home();
  tell(error);
}
