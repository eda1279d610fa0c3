export default function ({ parentElement, data }) {
  const find = (name) => parentElement.querySelector(name);
  const pane = find(".pane"), sheet = find(".sheet"), keys = find(".keys"), layers = find(".layers");
  const image = sheet.querySelector("img");
  const kept = (pane.zoom ??= { scale: 1, x: 0, y: 0, off: {} });
  pane.setAttribute("aria-label", data.label);
  pane.style.aspectRatio = `${data.width} / ${data.height}`;
  image.alt = data.alt;
  if (image.src !== data.src) { image.src = data.src; }
  const most = Math.max(4, (3 * data.width) / Math.max(1, pane.clientWidth));
  const place = () => {
    const w = pane.clientWidth, h = pane.clientHeight;
    kept.scale = Math.min(most, Math.max(1, kept.scale));
    kept.x = Math.min(0, Math.max(w - w * kept.scale, kept.x));
    kept.y = Math.min(0, Math.max(h - h * kept.scale, kept.y));
    sheet.style.transform = `translate(${kept.x}px, ${kept.y}px) scale(${kept.scale})`;
    image.style.imageRendering = kept.scale * w > 1.5 * data.width ? "pixelated" : "auto";
    pane.classList.toggle("near", kept.scale > 1);
    pane.dataset.scale = kept.scale.toFixed(2);
  };
  const zoom = (by, px, py) => {
    const before = kept.scale;
    kept.scale = Math.min(most, Math.max(1, before * by));
    const grown = kept.scale / before;
    kept.x = px - (px - kept.x) * grown;
    kept.y = py - (py - kept.y) * grown;
    place();
  };
  const middle = () => [pane.clientWidth / 2, pane.clientHeight / 2];
  keys.setAttribute("aria-label", data.words.size);
  keys.replaceChildren(...[["+", data.words.nearer, 1.6], ["−", data.words.farther, 1 / 1.6],
    [data.words.whole, data.words.whole, 0]].map(([sign, words, by]) => {
    const key = document.createElement("button");
    key.type = "button";
    key.textContent = sign;
    key.setAttribute("aria-label", words);
    key.onclick = () => (by ? zoom(by, ...middle()) : zoom(1 / kept.scale, 0, 0));
    return key;
  }));
  sheet.querySelectorAll("svg, img.layer").forEach((old) => old.remove());
  const drawn = data.layers.map((layer) => {
    kept.off[layer.name] ??= layer.hidden === true;
    let part;
    if (layer.src) {
      part = document.createElement("img");
      part.className = "layer";
      part.alt = "";
      part.src = layer.src;
    } else {
      part = document.createElementNS("http://www.w3.org/2000/svg", "svg");
      part.setAttribute("viewBox", `0 0 ${data.width} ${data.height}`);
      part.setAttribute("aria-hidden", "true");
      for (const [x, y, r] of layer.marks) {
        for (const [ink, wide] of [["#ffffff", layer.wide + 2], [layer.ink, layer.wide]]) {
          const shape = document.createElementNS("http://www.w3.org/2000/svg", layer.shape === "ring" ? "circle" : "polygon");
          if (layer.shape === "ring") {
            shape.setAttribute("cx", x); shape.setAttribute("cy", y); shape.setAttribute("r", r);
          } else {
            const ends = layer.shape === "square" ? [[-r, -r], [r, -r], [r, r], [-r, r]] : [[0, -r], [r, 0], [0, r], [-r, 0]];
            shape.setAttribute("points", ends.map(([a, b]) => `${x + a},${y + b}`).join(" "));
          }
          shape.setAttribute("fill", "none");
          shape.setAttribute("stroke", ink);
          shape.setAttribute("stroke-width", wide);
          shape.setAttribute("vector-effect", "non-scaling-stroke");
          part.append(shape);
        }
      }
    }
    part.style.display = kept.off[layer.name] ? "none" : "block";
    sheet.append(part);
    return part;
  });
  layers.setAttribute("aria-label", data.words.layers);
  layers.replaceChildren(...data.layers.map((layer, i) => {
    const label = document.createElement("label");
    const box = document.createElement("input");
    const ink = document.createElement("i");
    box.type = "checkbox";
    box.checked = !kept.off[layer.name];
    box.onchange = () => {
      kept.off[layer.name] = !box.checked;
      drawn[i].style.display = box.checked ? "block" : "none";
    };
    ink.style.background = layer.ink;
    label.append(box, ink, document.createTextNode(layer.words));
    return label;
  }));
  const at = (event) => {
    const box = pane.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  };
  const down = new Map();
  pane.onwheel = (event) => {
    if (!event.ctrlKey && kept.scale === 1 && event.deltaY > 0) { return; }
    event.preventDefault();
    zoom(Math.exp(-event.deltaY * 0.0022), ...at(event));
  };
  pane.onpointerdown = (event) => { down.set(event.pointerId, at(event)); pane.setPointerCapture(event.pointerId); };
  pane.onpointerup = pane.onpointercancel = (event) => down.delete(event.pointerId);
  pane.onpointermove = (event) => {
    if (!down.has(event.pointerId)) { return; }
    const was = down.get(event.pointerId), now = at(event);
    if (down.size === 2) {
      const other = [...down.entries()].find(([id]) => id !== event.pointerId)[1];
      const apart = (p) => Math.hypot(p[0] - other[0], p[1] - other[1]);
      zoom(apart(now) / Math.max(1, apart(was)), (now[0] + other[0]) / 2, (now[1] + other[1]) / 2);
    } else if (kept.scale > 1) {
      kept.x += now[0] - was[0];
      kept.y += now[1] - was[1];
      place();
    }
    down.set(event.pointerId, now);
  };
  pane.ondblclick = (event) => zoom(2.5, ...at(event));
  pane.onkeydown = (event) => {
    const step = { ArrowLeft: [60, 0], ArrowRight: [-60, 0], ArrowUp: [0, 60], ArrowDown: [0, -60] }[event.key];
    if (step && kept.scale > 1) { kept.x += step[0]; kept.y += step[1]; place(); event.preventDefault(); }
    else if (event.key === "+" || event.key === "=") { zoom(1.6, ...middle()); event.preventDefault(); }
    else if (event.key === "-") { zoom(1 / 1.6, ...middle()); event.preventDefault(); }
    else if (event.key === "0" || (event.key === "Escape" && kept.scale > 1)) { zoom(1 / kept.scale, 0, 0); event.preventDefault(); }
  };
  place();
}
