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
const button = (words, act, kind = "") => make("button", { type: "button", class: kind, onclick: act }, words);
function show(...parts) {
  said.textContent = "";
  screen.replaceChildren(...parts.filter(Boolean));
  screen.focus();
  window.scrollTo(0, 0);
}
const tell = (error) => { said.textContent = error.message; };
const finding = (words, level = "") => make("div", { class: `finding ${level}` }, words);
// What failed; where another window went on to the next pass, that pass is shown.
async function failed(error) {
  if (error.status === 409) await home();
  tell(error);
}
