export default function ({ parentElement, data, setTriggerValue }) {
  const board = parentElement.querySelector(".board");
  const made = (kind, name, words) => {
    const part = document.createElement(kind);
    if (name) { part.className = name; }
    if (words !== undefined) { part.textContent = words; }
    return part;
  };
  // whether a piece is one of several in a row without a picture
  const bare = data.pieces.map((piece, at) => [0, 1, 2].some((back) => [0, 1, 2].every(
    (step) => data.pieces[at - back + step] && !data.pieces[at - back + step].src)));
  const held = board.getRootNode().activeElement?.dataset?.code;
  board.replaceChildren(...data.pieces.flatMap((piece, at) => {
    const slot = made("div", `slot${piece.picked ? " picked" : ""}${bare[at] ? " bare" : ""}`);
    const button = made("button");
    button.type = "button";
    const stand = made("span", "stand");
    if (piece.src) {
      const image = made("img");
      image.src = piece.src;
      image.alt = piece.alt;
      stand.append(image);
    } else {
      stand.append(made("span", "line", piece.missing));
    }
    const picks = data.picking ? (piece.picked ? "☑ " : "☐ ") : "";
    button.append(stand, " ", made("span", "code", picks + piece.code));
    // without a picture the words in its place are read too: a name must hold all that is seen
    if (piece.src) { button.setAttribute("aria-label", piece.code); }
    button.dataset.code = piece.code;
    if (data.picking) { button.setAttribute("aria-pressed", String(piece.picked)); }
    button.onclick = () => setTriggerValue("chosen", piece.code);
    slot.append(button, ...piece.lines.map((line) => made("span", "line", line)));
    const faults = made("span");
    faults.append(...piece.faults.map(([word, sure]) => made("span", sure ? "fault" : "fault unsure", word)));
    slot.append(faults);
    return at > 0 && bare[at] !== bare[at - 1] ? [made("div", "break"), slot] : [slot];
  }));
  // whoever picks by keyboard stays on the piece just picked
  if (held) { board.querySelector(`[data-code="${CSS.escape(held)}"]`)?.focus({ preventScroll: true }); }
}
