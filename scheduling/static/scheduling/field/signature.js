// A field to sign in with a finger. Only lines are kept, no picture; typing a name does as well.

import { h } from "./dom.js";

const MOST_POINTS = 1500;

export function signaturePad() {
  const canvas = h("canvas", { class: "pad", width: 600, height: 200, role: "img", "aria-label": "Sign here with a finger, or type the name above" });
  const pen = canvas.getContext("2d");
  let strokes = [];
  let isDown = false;
  const place = (event) => {
    const box = canvas.getBoundingClientRect();
    return [Math.round(((event.clientX - box.left) / box.width) * 600), Math.round(((event.clientY - box.top) / box.height) * 200)];
  };
  canvas.addEventListener("pointerdown", (event) => {
    isDown = true;
    canvas.setPointerCapture(event.pointerId);
    strokes.push([place(event)]);
  });
  canvas.addEventListener("pointermove", (event) => {
    if (!isDown || strokes.flat().length > MOST_POINTS) return;
    const stroke = strokes.at(-1);
    const from = stroke.at(-1);
    const to = place(event);
    stroke.push(to);
    pen.lineWidth = 4;
    pen.lineCap = "round";
    pen.beginPath();
    pen.moveTo(...from);
    pen.lineTo(...to);
    pen.stroke();
  });
  const lift = () => {
    isDown = false;
  };
  canvas.addEventListener("pointerup", lift);
  canvas.addEventListener("pointercancel", lift);
  const clear = () => {
    strokes = [];
    pen.clearRect(0, 0, 600, 200);
  };
  const element = h("div", { class: "pad-box" }, canvas, h("button", { type: "button", class: "button", onclick: clear }, "Clear the signature"));
  return { element, strokes: () => strokes.filter((stroke) => stroke.length > 1) };
}
