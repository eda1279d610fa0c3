export default function ({ parentElement, data, setTriggerValue }) {
  const board = parentElement.querySelector(".board");
  const made = (kind, name, words) => {
    const part = document.createElement(kind);
    if (name) { part.className = name; }
    if (words !== undefined) { part.textContent = words; }
    return part;
  };
  const held = board.getRootNode().activeElement?.dataset?.code;
  board.replaceChildren(...data.pieces.map((piece) => {
    const slot = made("div", piece.picked ? "slot picked" : "slot");
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
    return slot;
  }));
  // whoever picks by keyboard stays on the piece just picked
  if (held) { board.querySelector(`[data-code="${CSS.escape(held)}"]`)?.focus({ preventScroll: true }); }
}
