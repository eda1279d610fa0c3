"""A picture that says where it was clicked: a small component of our own, works offline, keyboard too."""

from __future__ import annotations

from base64 import b64encode
from typing import Any

import streamlit as st

__all__ = ["click_on_picture"]

_HTML = """
<div class="spot" tabindex="0" role="application">
  <img alt="">
  <i aria-hidden="true"></i>
  <span role="status"></span>
</div>
"""

_CSS = """
.spot { position: relative; display: block; width: 100%; cursor: crosshair; line-height: 0; }
.spot img { width: 100%; height: auto; display: block; }
.spot i { position: absolute; width: 16px; height: 16px; margin: -8px 0 0 -8px; border-radius: 50%;
  border: 2px solid #fff; outline: 2px solid #1f1d1a; pointer-events: none; display: none; }
.spot span { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); }
.spot:focus-visible { outline: 2px solid currentColor; outline-offset: 2px; }
"""

_JS = """
export default function ({ parentElement, data, setTriggerValue }) {
  const spot = parentElement.querySelector(".spot");
  const image = spot.querySelector("img");
  const ring = spot.querySelector("i");
  const said = spot.querySelector("span");
  spot.setAttribute("aria-label", data.label);
  image.alt = data.label;
  if (image.src !== data.src) { image.src = data.src; }
  let at = data.at || [0.5, 0.5];
  const show = () => {
    ring.style.display = "block";
    ring.style.left = `${at[0] * 100}%`;
    ring.style.top = `${at[1] * 100}%`;
  };
  if (data.at) { show(); } else { ring.style.display = "none"; }
  spot.onfocus = () => { if (spot.matches(":focus-visible")) { show(); } };
  spot.onclick = (event) => {
    const box = image.getBoundingClientRect();
    at = [(event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height];
    show();
    setTriggerValue("at", at);
  };
  spot.onkeydown = (event) => {
    const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (step) {
      at = at.map((value, i) => Math.min(1, Math.max(0, value + step[i] * 0.02)));
      show();
      said.textContent = `${Math.round(at[0] * 100)} % across, ${Math.round(at[1] * 100)} % down`;
      event.preventDefault();
    } else if (event.key === "Enter" || event.key === " ") {
      setTriggerValue("at", at);
      event.preventDefault();
    }
  };
}
"""


def click_on_picture(
    data: bytes, label: str, key: str, at: tuple[float, float] | None = None
) -> tuple[float, float] | None:
    """Show a picture and give where it was clicked in this run, as parts of its width and height (0..1).

    Parameters
    ----------
    data : JPEG bytes
    label : what the picture shows, for those who do not see it
    key : the widget's own key
    at : where the last click was, to keep its ring on the picture
    """
    component = st.components.v2.component("glostbook_pick", html=_HTML, css=_CSS, js=_JS)
    sent: dict[str, Any] = {
        "src": f"data:image/jpeg;base64,{b64encode(data).decode()}",
        "label": label,
        "at": None if at is None else list(at),
    }
    result = component(key=key, data=sent, on_at_change=lambda: None)
    clicked = result.get("at")
    return None if clicked is None else (float(clicked[0]), float(clicked[1]))
