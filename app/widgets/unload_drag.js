export default function ({ parentElement, data, setTriggerValue }) {
  const match = parentElement.querySelector(".match");
  const words = data.words;
  const kept = (match.kept ??= { held: null });
  const made = (kind, name, text) => {
    const part = document.createElement(kind);
    if (name) { part.className = name; }
    if (text !== undefined) { part.textContent = text; }
    return part;
  };
  const said = made("p", "said");
  said.setAttribute("role", "status");
  const loose = made("div", "loose");
  loose.setAttribute("role", "group");
  loose.setAttribute("aria-label", words.pieces);
  const places = made("ul", "places");
  places.setAttribute("aria-label", words.places);
  if (!data.pieces.some((piece) => piece.key === kept.held)) { kept.held = null; }

  const show = () => {
    match.classList.toggle("holding", kept.held !== null);
    loose.querySelectorAll("button").forEach((button) => {
      button.setAttribute("aria-pressed", String(button.dataset.key === kept.held));
    });
    said.textContent = kept.held === null ? words.pick : words.put;
  };
  const hold = (key) => { kept.held = kept.held === key ? null : key; show(); };
  const put = (key, code) => {
    if (key === null) { said.textContent = words.pick; return; }
    kept.held = null;
    setTriggerValue("matched", [key, code]);
  };

  loose.replaceChildren(...data.pieces.map((piece) => {
    const button = made("button");
    button.type = "button";
    button.draggable = true;
    button.dataset.key = piece.key;
    if (piece.src) {
      const image = made("img");
      image.src = piece.src;
      image.alt = "";
      button.append(image);
    }
    button.append(made("span", "small", piece.words));
    button.onclick = () => hold(piece.key);
    button.ondragstart = (event) => {
      event.dataTransfer.setData("text/plain", piece.key);
      event.dataTransfer.effectAllowed = "move";
      kept.held = piece.key;
      show();
    };
    button.ondragend = () => { kept.held = null; show(); };
    return button;
  }));
  places.replaceChildren(...data.places.map((place, number) => {
    const item = made("li");
    const button = made("button", "place");
    button.type = "button";
    button.dataset.code = place.code;
    button.append(made("span", "", `${number + 1}`), made("span", "", place.words));
    button.onclick = () => put(kept.held, place.code);
    button.ondragover = (event) => { event.preventDefault(); button.classList.add("over"); };
    button.ondragleave = () => button.classList.remove("over");
    button.ondrop = (event) => {
      event.preventDefault();
      button.classList.remove("over");
      put(event.dataTransfer.getData("text/plain") || kept.held, place.code);
    };
    item.append(button);
    return item;
  }));
  match.onkeydown = (event) => { if (event.key === "Escape") { kept.held = null; show(); } };
  const refocus = match.getRootNode().activeElement?.dataset?.code !== undefined;
  match.replaceChildren(said, loose, places);
  show();
  // whoever matches by keyboard goes on with the next piece
  if (refocus) { loose.querySelector("button")?.focus({ preventScroll: true }); }
}
