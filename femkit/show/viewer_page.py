"""The page of an interactive view: plain HTML that draws with the browser's own WebGL and fetches nothing.

The words in double braces are filled in by `femkit.show.interactive`.
"""

__all__ = ["PAGE"]

PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>{{title}}</title>
<style>
html, body { margin: 0; height: 100%; font: 14px/1.4 "DejaVu Sans", Arial, sans-serif; color: #222; background: #fff }
body { display: flex; flex-direction: column }
header, footer { padding: 4px 12px }
h1 { font-size: 19px; margin: 0 }
p { margin: 0 }
#stage { position: relative; flex: 1; min-height: 120px }
canvas { position: absolute; width: 100%; height: 100%; left: 0; top: 0; touch-action: none }
#words { pointer-events: none }
.bar { position: relative; height: 20px; margin: 0 24px }
.bar span { position: absolute; transform: translateX(-50%) }
.strip { height: 16px; border: 1px solid #222; margin: 0 24px }
.legend { display: flex; flex-wrap: wrap; gap: 2px 20px }
.legend i { display: inline-block; width: 20px; height: 12px; border: 1px solid #222; margin-right: 6px }
small { color: #555 }
</style></head><body>
<header><h1>{{title}}</h1><p>{{facts}}</p></header>
<div id="stage"><canvas id="body"></canvas><canvas id="words"></canvas></div>
<footer>{{foot}}<small>drag: turn · shift or right button: shift · wheel: zoom · double click: back ·
parallel projection, lengths in mm</small></footer>
<script>
"use strict";
const data = {{data}};
const bytes = text => Uint8Array.from(atob(text), letter => letter.charCodeAt(0)).buffer;
const points = new Float32Array(bytes(data.points));          // x y z, 1 is half the body's extent
const triangles = new Uint32Array(bytes(data.triangles));
const colours = new Uint8Array(bytes(data.colours));          // r g b of each triangle, or of each point
const groups = data.lines.map(g => ({colour: g.colour, opacity: g.opacity, pairs: new Uint32Array(bytes(g.pairs)),
                                     points: new Float32Array(bytes(g.points))}));
const canvas = document.getElementById("body"), words = document.getElementById("words"), pen = words.getContext("2d");
const gl = canvas.getContext("webgl2", {antialias: true});
const stage = document.getElementById("stage");
if (!gl) stage.textContent = "This browser draws no WebGL 2; use the static picture.";

const vertexCode = `#version 300 es
in vec3 place; in vec3 colour;
uniform mat3 turn; uniform vec2 shift, zoom; uniform float nearer;
out vec3 seen; out vec3 tint;
void main() {
  seen = turn * place; tint = colour;
  gl_Position = vec4((seen.xy + shift) * zoom, -seen.z / 4.0 - nearer, 1.0);
}`;
const pixelCode = `#version 300 es
precision highp float;
in vec3 seen; in vec3 tint; uniform bool lit; uniform float cover; out vec4 pixel;
void main() {
  float light = 1.0;
  if (lit) light = 0.55 + 0.45 * abs(normalize(cross(dFdx(seen), dFdy(seen))).z);
  pixel = vec4(tint * light, cover);
}`;

let program, at = {}, shapes = [];
function setUp() {
  program = gl.createProgram();
  for (const [kind, code] of [[gl.VERTEX_SHADER, vertexCode], [gl.FRAGMENT_SHADER, pixelCode]]) {
    const shader = gl.createShader(kind);
    gl.shaderSource(shader, code); gl.compileShader(shader); gl.attachShader(program, shader);
  }
  gl.bindAttribLocation(program, 0, "place"); gl.bindAttribLocation(program, 1, "colour");
  gl.linkProgram(program); gl.useProgram(program);
  for (const name of ["turn", "shift", "zoom", "nearer", "lit", "cover"])
    at[name] = gl.getUniformLocation(program, name);
  const place = new Float32Array(3 * triangles.length), tint = new Uint8Array(3 * triangles.length);
  triangles.forEach((point, i) => {                           // each triangle has corners of its own: colours stay flat
    const from = 3 * (data.perPoint ? point : Math.floor(i / 3));
    for (let k = 0; k < 3; k++) { place[3 * i + k] = points[3 * point + k]; tint[3 * i + k] = colours[from + k]; }
  });
  shapes.push(shape(gl.TRIANGLES, place, tint, data.lit, 0, 1));
  for (const group of groups) {
    const ends = new Float32Array(3 * group.pairs.length), ink = new Uint8Array(3 * group.pairs.length);
    group.pairs.forEach((point, i) => {
      for (let k = 0; k < 3; k++) { ends[3 * i + k] = group.points[3 * point + k]; ink[3 * i + k] = group.colour[k]; }
    });
    shapes.push(shape(gl.LINES, ends, ink, false, 0.001, group.opacity));
  }
  gl.enable(gl.DEPTH_TEST); gl.enable(gl.BLEND); gl.blendFunc(gl.SRC_ALPHA, gl.ONE_MINUS_SRC_ALPHA);
  gl.clearColor(1, 1, 1, 1);
}
function shape(kind, place, tint, lit, nearer, cover) {
  const array = gl.createVertexArray();
  gl.bindVertexArray(array);
  for (const [slot, values, type, scaled] of [[0, place, gl.FLOAT, false], [1, tint, gl.UNSIGNED_BYTE, true]]) {
    gl.bindBuffer(gl.ARRAY_BUFFER, gl.createBuffer());
    gl.bufferData(gl.ARRAY_BUFFER, values, gl.STATIC_DRAW);
    gl.enableVertexAttribArray(slot); gl.vertexAttribPointer(slot, 3, type, scaled, 0, 0);
  }
  return {kind, array, count: place.length / 3, lit, nearer, cover};
}

let turn, shift, scale;                                       // turn: rows right, up, towards the eye
function back() { turn = data.axes.map(row => row.slice()); shift = [0, 0]; scale = 1; draw(); }
const times = (a, b) => a.map(row => b[0].map((_, j) => row.reduce((sum, value, k) => sum + value * b[k][j], 0)));
function unit() {                                             // pixels of half the body's extent
  return scale * 0.92 * Math.min(words.clientWidth / data.span[0], words.clientHeight / data.span[1]);
}
function onPage(p) {
  const seen = turn.map(row => row[0] * p[0] + row[1] * p[1] + row[2] * p[2]);
  const [x, y] = [seen[0] + shift[0], seen[1] + shift[1]];
  return [words.clientWidth / 2 + x * unit(), words.clientHeight / 2 - y * unit()];
}
function draw() {
  const sharp = window.devicePixelRatio || 1, wide = words.clientWidth, high = words.clientHeight;
  for (const each of [canvas, words]) { each.width = wide * sharp; each.height = high * sharp; }
  if (gl) {
    gl.viewport(0, 0, canvas.width, canvas.height); gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.uniformMatrix3fv(at.turn, true, turn.flat());
    gl.uniform2f(at.shift, ...shift); gl.uniform2f(at.zoom, 2 * unit() / wide, 2 * unit() / high);
    for (const each of shapes) {
      gl.bindVertexArray(each.array); gl.uniform1i(at.lit, each.lit); gl.uniform1f(at.nearer, each.nearer);
      gl.uniform1f(at.cover, each.cover);
      gl.drawArrays(each.kind, 0, each.count);
    }
  }
  pen.scale(sharp, sharp); pen.clearRect(0, 0, wide, high);
  pen.font = '15px "DejaVu Sans", Arial, sans-serif'; pen.textBaseline = "middle"; pen.lineWidth = 1.5;
  pen.strokeStyle = pen.fillStyle = "#222";
  for (const mark of data.marks) label(mark.text, ...onPage(mark.place), wide);
  ["x", "y", "z"].forEach((name, k) => {
    const tip = [55 + 38 * turn[0][k], high - 55 - 38 * turn[1][k]];
    pen.beginPath(); pen.moveTo(55, high - 55); pen.lineTo(...tip); pen.stroke();
    const isAlong = Math.hypot(turn[0][k], turn[1][k]) < 0.15;  // along the line of sight: beside the corner
    pen.fillText(name, isAlong ? 38 : 51 + 50 * turn[0][k], high - (isAlong ? 43 : 55 + 50 * turn[1][k]));
  });
}
function label(text, x, y, wide) {
  const long = pen.measureText(text).width, left = x + 30 + long < wide ? x + 24 : x - 24 - long;
  pen.beginPath(); pen.arc(x, y, 7, 0, 7); pen.stroke();
  pen.globalAlpha = 0.85; pen.fillStyle = "#fff"; pen.fillRect(left - 4, y - 34, long + 8, 22); pen.globalAlpha = 1;
  pen.fillStyle = "#222"; pen.strokeRect(left - 4, y - 34, long + 8, 22); pen.fillText(text, left, y - 22);
}
stage.addEventListener("pointerdown", event => stage.setPointerCapture(event.pointerId));
stage.addEventListener("pointermove", event => {
  if (!event.buttons) return;
  const dx = event.movementX, dy = event.movementY;
  if (event.shiftKey || event.buttons !== 1) { shift[0] += dx / unit(); shift[1] -= dy / unit(); }
  else {                                                      // about the global z, then about the screen's x
    const [a, b] = [0.008 * dx, 0.008 * dy], [c, s, d, t] = [Math.cos(a), Math.sin(a), Math.cos(b), Math.sin(b)];
    turn = times([[1, 0, 0], [0, d, -t], [0, t, d]], times(turn, [[c, -s, 0], [s, c, 0], [0, 0, 1]]));
  }
  draw();
});
stage.addEventListener("wheel", event => {
  event.preventDefault(); scale *= Math.exp(-event.deltaY / 700); draw();
});
stage.addEventListener("contextmenu", event => event.preventDefault());
stage.addEventListener("dblclick", back);
new ResizeObserver(() => draw()).observe(stage);
if (gl) setUp();
back();
</script></body></html>
"""
