"""The script of a report: draws the ways from the figures on the page, turns them, and marks the change that is picked. Data only.

Plain script without any library. The page says the same without it, but for the drawings.
"""

SCRIPT = """
(function () {
'use strict';
var NS = 'http://www.w3.org/2000/svg', W = 420, H = 320, M = 26;
function make(name, attributes) {
  var found = document.createElementNS(NS, name);
  Object.keys(attributes).forEach(function (key) { found.setAttribute(key, attributes[key]); });
  return found;
}
function turned(a, b) {
  var ca = Math.cos(a), sa = Math.sin(a), cb = Math.cos(b), sb = Math.sin(b);
  return function (x, y, z) { return [x * ca - y * sa, (x * sa + y * ca) * sb + z * cb]; };
}
var FLAT = {
  top: function (x, y) { return [x, y]; }, front: function (x, y, z) { return [x, z]; },
  side: function (x, y, z) { return [y, z]; }, turning: function (x, y, z) { return [z, x / 2]; }
};
function fitted(box, project) {
  var us = [], vs = [];
  [box[0], box[3]].forEach(function (x) { [box[1], box[4]].forEach(function (y) { [box[2], box[5]].forEach(function (z) {
    var at = project(x, y, z); us.push(at[0]); vs.push(at[1]); }); }); });
  var u0 = Math.min.apply(null, us), u1 = Math.max.apply(null, us), v0 = Math.min.apply(null, vs), v1 = Math.max.apply(null, vs);
  var scale = Math.min((W - 2 * M) / ((u1 - u0) || 1), (H - 2 * M) / ((v1 - v0) || 1));
  if (!isFinite(scale)) { scale = 1; }
  var du = (W - (u1 - u0) * scale) / 2 - u0 * scale, dv = H - (H - (v1 - v0) * scale) / 2 + v0 * scale;
  return function (x, y, z) { var at = project(x, y, z);
    return [(at[0] * scale + du).toFixed(1), (dv - at[1] * scale).toFixed(1)]; };
}
function draw(svg, data, side, project) {
  while (svg.lastChild && svg.lastChild.nodeName !== 'title') { svg.removeChild(svg.lastChild); }
  var place = fitted(data.box, project), groups = {};
  side.strands.forEach(function (strand) {
    var key = strand.slice(0, 3).join(' '), points = strand[3], d = '';
    for (var i = 0; i < points.length; i += 3) {
      d += (i ? 'L' : 'M') + place(points[i], points[i + 1], points[i + 2]).join(' ');
    }
    if (!groups[key]) { groups[key] = { strand: strand, d: '' }; }
    groups[key].d += d;
  });
  Object.keys(groups).forEach(function (key) {
    var one = groups[key].strand, kind = one[1] ? 'rapid' : 'feed';
    svg.appendChild(make('path', { d: groups[key].d, 'class': kind + (one[2] === null ? '' : ' changed'),
      'data-mark': one[2] === null ? '' : one[2], 'data-section': one[0] }));
  });
  side.holes.forEach(function (hole) {
    var at = place(hole[2], hole[3], hole[4]);
    svg.appendChild(make('circle', { cx: at[0], cy: at[1], r: 3.5, 'class': 'hole' + (hole[1] === null ? '' : ' changed'),
      'data-mark': hole[1] === null ? '' : hole[1], 'data-section': hole[0] }));
  });
}
document.querySelectorAll('.paths').forEach(function (box) {
  var data = JSON.parse(box.querySelector('script').textContent), picked = '', section = '';
  var angles = { a: 0.6, b: 0.6 };
  function show(svg) {
    var view = svg.getAttribute('data-view'), side = data.sides[+svg.getAttribute('data-side')];
    draw(svg, data, side, view === 'turn' ? turned(angles.a, angles.b) : FLAT[view]);
    svg.querySelectorAll('[data-mark]').forEach(function (shape) {
      shape.classList.toggle('picked', picked !== '' && shape.getAttribute('data-mark') === picked);
      var tool = side.tools[+shape.getAttribute('data-section')];
      shape.classList.toggle('dim', section !== '' && String(tool) !== section);
    });
  }
  function all(only) { box.querySelectorAll(only || 'svg[data-view]').forEach(show); }
  function turn(da, db) { angles.a += da; angles.b = Math.max(0, Math.min(Math.PI / 2, angles.b + db));
    all('svg[data-view="turn"]'); }
  box.querySelectorAll('button[data-turn]').forEach(function (button) {
    button.addEventListener('click', function () { var by = button.getAttribute('data-turn').split(' ');
      turn(+by[0], +by[1]); });
  });
  box.querySelectorAll('svg[data-view="turn"]').forEach(function (svg) {
    var at = null;
    svg.addEventListener('pointerdown', function (event) { at = [event.clientX, event.clientY];
      svg.setPointerCapture(event.pointerId); });
    svg.addEventListener('pointermove', function (event) { if (at) {
      turn((event.clientX - at[0]) / 120, (event.clientY - at[1]) / 120); at = [event.clientX, event.clientY]; } });
    svg.addEventListener('pointerup', function () { at = null; });
  });
  box.querySelectorAll('select').forEach(function (select) {
    select.addEventListener('change', function () { section = select.value; all(); });
  });
  var operation = box.getAttribute('data-operation');
  document.querySelectorAll('button[data-pick="' + operation + '"]').forEach(function (button) {
    button.addEventListener('click', function () {
      var mark = button.getAttribute('data-place');
      picked = picked === mark ? '' : mark;
      document.querySelectorAll('button[data-pick="' + operation + '"]').forEach(function (other) {
        other.setAttribute('aria-pressed', String(picked !== '' && other.getAttribute('data-place') === picked)); });
      all();
      if (picked) { box.scrollIntoView({ block: 'nearest' }); }
    });
  });
  all();
});
}());
"""
