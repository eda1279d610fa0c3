export default function ({ parentElement, data, setTriggerValue }) {
  const find = (name) => parentElement.querySelector(name);
  const sheet = find(".sheet"), keys = find(".keys"), said = find(".said");
  const image = sheet.querySelector("img");
  const kept = (sheet.kept ??= { corners: [], size: 1, cross: [0.5, 0.5], src: "" });
  const words = data.words;
  sheet.setAttribute("aria-label", data.label);
  image.alt = data.label;
  if (kept.src !== data.src) { image.src = kept.src = data.src; kept.corners = []; }

  const part = (event) => {
    const box = image.getBoundingClientRect();
    const held = (value) => Math.min(1, Math.max(0, value));
    return [held((event.clientX - box.left) / box.width), held((event.clientY - box.top) / box.height)];
  };
  const place = (mark, [x, y]) => { mark.style.left = `${x * 100}%`; mark.style.top = `${y * 100}%`; };
  const lines = () => {
    sheet.querySelectorAll("svg").forEach((old) => old.remove());
    const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    svg.setAttribute("viewBox", "0 0 1 1");
    svg.setAttribute("preserveAspectRatio", "none");
    svg.setAttribute("aria-hidden", "true");
    for (const [ink, wide] of [["#ffffff", 6], ["#1f1d1a", 2.5]]) {
      const shape = document.createElementNS("http://www.w3.org/2000/svg", "polygon");
      shape.setAttribute("points", kept.corners.map((corner) => corner.join(",")).join(" "));
      shape.setAttribute("fill", "none");
      shape.setAttribute("stroke", ink);
      shape.setAttribute("stroke-width", wide);
      shape.setAttribute("vector-effect", "non-scaling-stroke");
      svg.append(shape);
    }
    sheet.append(svg);
  };
  const show = () => {
    sheet.style.width = `${kept.size * 100}%`;
    lines();
    sheet.querySelectorAll("i").forEach((old) => old.remove());
    kept.corners.forEach((corner, number) => {
      const knob = document.createElement("i");
      knob.setAttribute("aria-hidden", "true");
      place(knob, corner);
      knob.onclick = (event) => event.stopPropagation();
      knob.onpointerdown = (event) => { knob.setPointerCapture(event.pointerId); event.stopPropagation(); };
      knob.onpointermove = (event) => {
        if (!knob.hasPointerCapture(event.pointerId)) { return; }
        kept.corners[number] = part(event);
        place(knob, kept.corners[number]);
        lines();
      };
      sheet.append(knob);
    });
    const count = kept.corners.length;
    const rest = count < 3 ? words.few : count === 4 ? words.four : words.enough;
    said.textContent = count ? `${count} ${rest}` : words.none;
    buttons.use.disabled = count < 3;
    buttons.back.disabled = buttons.again.disabled = !count;
    buttons.farther.disabled = kept.size <= 1;
    buttons.nearer.disabled = kept.size >= 4;
  };
  const add = (corner) => { kept.corners.push(corner); show(); };
  const acts = {
    use: () => setTriggerValue("outline", kept.corners),
    back: () => { kept.corners.pop(); show(); },
    again: () => { kept.corners = []; show(); },
    nearer: () => { kept.size = Math.min(4, kept.size * 1.5); show(); },
    farther: () => { kept.size = Math.max(1, kept.size / 1.5); show(); },
  };
  const buttons = {};
  keys.setAttribute("aria-label", words.keys);
  keys.replaceChildren(...Object.entries(acts).map(([name, act]) => {
    const button = (buttons[name] = document.createElement("button"));
    button.type = "button";
    button.textContent = words[name];
    button.onclick = act;
    return button;
  }));
  const cross = sheet.querySelector("b") ?? sheet.appendChild(document.createElement("b"));
  sheet.onclick = (event) => { cross.style.display = "none"; add(part(event)); };
  sheet.onkeydown = (event) => {
    const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (step) {
      const far = event.shiftKey ? 0.002 : 0.015;
      kept.cross = kept.cross.map((value, i) => Math.min(1, Math.max(0, value + step[i] * far)));
      cross.style.display = "block";
      place(cross, kept.cross);
    } else if (event.key === "Enter" || event.key === " ") {
      add([...kept.cross]);
    } else if (event.key === "Backspace") {
      acts.back();
    } else {
      return;
    }
    event.preventDefault();
  };
  show();
}
