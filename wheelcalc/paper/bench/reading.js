// Readings, hole by hole.
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
