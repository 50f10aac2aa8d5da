// Without the program: what it answered lies in this file, and the browser keeps what was ticked.
const answers = JSON.parse(document.getElementById("kept").textContent);
const advised = Object.fromEntries(answers.advise.turns.map((each) => [each.rim_hole, each.turns]));
let ticked = {};
try { ticked = JSON.parse(localStorage.getItem(answers.state.key)) || {}; } catch { /* it keeps nothing: said when a box is ticked */ }
async function ask(path, body) {
  if (path === "read") {
    ticked[body.rim_hole] = body.value;
    try { localStorage.setItem(answers.state.key, JSON.stringify(ticked)); }
    catch { tell(new Error("This browser keeps no ticks of a file; they last until the page is closed.")); }
  }
  if (path === "state") {
    const these = Object.entries(ticked).filter(([hole, turns]) => advised[hole] === turns); // not of other turns for this pass
    answers.state.passes.at(-1).turned = Object.fromEntries(these);
  }
  return answers[path];
}
