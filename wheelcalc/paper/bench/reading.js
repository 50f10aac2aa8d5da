// Readings, hole by hole. What the program doubts is asked again at once; what is said to be right is not asked twice.
const right = new Set();
const named = (doubted) => `${doubted.rim_hole} ${doubted.column} ${doubted.value}`;
const spoke_at = (hole) => state.sides[hole - 1] || "no spoke";

function read(column, hole, doubted = null, then = null) {
  const now = current();
  const words = COLUMNS.find(([name]) => name === column)[1];
  const done = cells(now)[column] || {};
  const all = Array.from({ length: state.holes }, (_, i) => i + 1).filter((each) => column.endsWith("_mm") || state.sides[each - 1]);
  const at = hole || all.find((each) => !(each in done)) || all[0];
  const after = all.find((each) => each > at), before = all.findLast((each) => each < at);
  const next = then || (() => (after ? read(column, after) : home()));
  const text = column === "pitch_hz" ? "text" : touched ? "none" : "decimal"; // a phone's own keys would cover ours, and may lack a minus
  const input = make("input", { inputmode: text, autocomplete: "off", autocapitalize: "off", id: "value", value: at in done ? done[at] : "" });
  const goOn = () => { // what was typed while this number was being saved is of the next hole
    next();
    const field = document.getElementById("value");
    if (field && field !== input && input.value) field.value = input.value;
  };
  const again = (found) => {
    const doubts = found.filter((each) => !right.has(named(each)));
    const mine = doubts.find((each) => each.rim_hole === at && each.column === column) || doubts[0];
    if (!mine) return goOn();
    if (mine.rim_hole === at && mine.column === column) return read(column, at, mine, next);
    read(mine.column, mine.rim_hole, mine, next);
  };
  let saving = false;
  const save = async () => {
    if (saving) return;
    if (input.value.trim() === "") return next();
    const still = want(), value = input.value;
    saving = true;
    input.placeholder = value;
    input.value = "";
    try {
      const found = await ask("read", { pass: now, rim_hole: at, column, value });
      stand(found);
      if (still()) again(found.doubted);
    } catch (error) {
      saving = false;
      input.value = value;
      failed(still() ? error : Object.assign(error, { message: `Rim hole ${at}, not saved: ${error.message}` }));
    }
  };
  const key = (sign) => () => {
    const { selectionStart: from, selectionEnd: to } = input; // what is marked is typed over, as by a keyboard
    if (sign === "+/-") input.value = input.value.startsWith("-") ? input.value.slice(1) : `-${input.value}`;
    else if (sign !== "back") input.setRangeText(sign, from, to, "end");
    else input.setRangeText("", from === to ? Math.max(0, from - 1) : from, to, "end");
    input.focus();
  };
  const keys = (signs) => [...signs].map((sign) => button(sign === "-" ? "+/-" : sign, key(sign === "-" ? "+/-" : sign)));
  const form = make("form", { onsubmit: (event) => { event.preventDefault(); save(); } },
    make("label", { class: "field" }, words, input),
    make("div", { class: "pad" }, ...keys("123"), button("Delete", key("back"), "word"), ...keys("456"), button("Skip", next, "word"),
      ...keys("789"), make("button", { class: "main word tall" }, "Save, next hole"), ...keys("-0.")),
    doubted ? make("div", { class: "row" }, button("It is right as typed", () => { right.add(named(doubted)); next(); })) : null,
    make("div", { class: "row" }, button("Back one", () => read(column, before || at)), button("Stop here", home)));
  const turned = Object.values(cells(now).turned || {}).some((turns) => turns);
  show(make("h2", {}, `Rim hole ${at}, ${spoke_at(at)}`),
    doubted ? finding(`${doubted.words} Read it again.`) : null,
    turned ? finding("Nipples were turned already: put right here only what was typed wrong; what is read now belongs to the next pass.") : null,
    strip(done, at, cells(now - 1)[column]), form);
  input.focus();
  input.select();
}
const touched = matchMedia("(pointer: coarse)").matches;
