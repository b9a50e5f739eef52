"""The script of a report: draws the paths from the figures on the page, turns them, and marks the change that is picked. Data only.

Plain script without any library. The page says the same without it, but for the drawings.
"""

SCRIPT = """
(function () {
'use strict';
var NS = 'http://www.w3.org/2000/svg', W = 420, H = 320, M = 26, FOOT = 52, AXIS = 24;
function make(name, attributes, words) {
  var found = document.createElementNS(NS, name);
  Object.keys(attributes).forEach(function (key) { found.setAttribute(key, attributes[key]); });
  if (words) { found.textContent = words; }
  return found;
}
function each(nodes, act) { Array.prototype.forEach.call(nodes, act); }

// How a point of the program comes to lie on the paper: to the right, and up.
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
  var scale = Math.min((W - 2 * M) / ((u1 - u0) || 1e-9), (H - M - FOOT) / ((v1 - v0) || 1e-9));
  if (scale > 1e6) { scale = 1; }
  var du = (W - (u1 - u0) * scale) / 2 - u0 * scale, dv = M + (H - M - FOOT + (v1 - v0) * scale) / 2 + v0 * scale;
  var place = function (x, y, z) { var at = project(x, y, z);
    return [(at[0] * scale + du).toFixed(1), (dv - at[1] * scale).toFixed(1)]; };
  place.scale = scale;
  return place;
}

// Axes at the lower left, zero of the work offset, and on a flat view a bar of a round length.
function frame(svg, data, view, project, place) {
  var zero = place(0, 0, 0), at = [AXIS + 6, H - AXIS - 6];
  if (zero[0] > 0 && zero[0] < W && zero[1] > 0 && zero[1] < H) {
    svg.appendChild(make('path', { d: 'M' + (zero[0] - 7) + ' ' + zero[1] + 'h14M' + zero[0] + ' ' + (zero[1] - 7) + 'v14', 'class': 'zero' }));
  }
  [['X', 1, 0, 0], ['Y', 0, 1, 0], ['Z', 0, 0, 1]].forEach(function (axis) {
    var way = project(axis[1], axis[2], axis[3]), size = Math.sqrt(way[0] * way[0] + way[1] * way[1]);
    if (size < 0.2) { return; }
    var by = view === 'turn' ? AXIS : AXIS / size, u = at[0] + way[0] * by, v = at[1] - way[1] * by;
    svg.appendChild(make('path', { d: 'M' + at.join(' ') + 'L' + u.toFixed(1) + ' ' + v.toFixed(1), 'class': 'axis' }));
    svg.appendChild(make('text', { x: (u + way[0] * by * 0.3 - 3.5).toFixed(1), y: (v - way[1] * by * 0.3 + 4).toFixed(1) }, axis[0]));
  });
  if (view === 'turn') { return; }
  var most = 100 / place.scale, size = Math.pow(10, Math.floor(Math.log10(most)));
  size *= most / size >= 5 ? 5 : most / size >= 2 ? 2 : 1;
  var right = W - 14, long = size * place.scale;
  svg.appendChild(make('path', { d: 'M' + (right - long).toFixed(1) + ' ' + (H - 18) + 'v6H' + right + 'v-6', 'class': 'axis' }));
  svg.appendChild(make('text', { x: right, y: H - 22, 'text-anchor': 'end' }, +size.toPrecision(1) + (data.units ? ' ' + data.units : '') + (view === 'turning' ? ' of Z' : '')));
}
function named(section, mark, kind) {
  return { 'class': kind + (mark === null ? '' : ' changed'), 'data-mark': mark === null ? '' : mark, 'data-section': section };
}
function draw(svg, side, place) {
  var groups = {};
  side.strands.forEach(function (strand) {
    var key = strand.slice(0, 3).join(' '), points = strand[3], d = '';
    for (var i = 0; i < points.length; i += 3) {
      d += (i ? 'L' : 'M') + place(points[i], points[i + 1], points[i + 2]).join(' ');
    }
    if (!groups[key]) { groups[key] = { strand: strand, d: '' }; }
    groups[key].d += d;
  });
  var late = [];
  Object.keys(groups).forEach(function (key) {
    var one = groups[key].strand, shape = named(one[0], one[2], one[1] ? 'rapid' : 'feed');
    shape.d = groups[key].d;
    shape = make('path', shape);
    if (one[2] === null) { svg.appendChild(shape); } else { late.push(shape); }
  });
  side.holes.forEach(function (hole) {
    var at = place(hole[2], hole[3], hole[4]), shape = named(hole[0], hole[1], 'hole');
    shape.cx = at[0]; shape.cy = at[1]; shape.r = 3.5;
    late.push(make('circle', shape));
  });
  late.forEach(function (shape) { svg.appendChild(shape); });
}

// The box about what a picked change cuts on all sides (its rapids, if it cuts nothing), with some of what is around it
// and never beyond everything; null where nothing is picked.
function about(data, picked) {
  var low = [Infinity, Infinity, Infinity], high = [-Infinity, -Infinity, -Infinity];
  function hold(points) { points.forEach(function (figure, i) {
    low[i % 3] = Math.min(low[i % 3], figure); high[i % 3] = Math.max(high[i % 3], figure); }); }
  [0, 1].forEach(function (rapid) {
    if (picked === '' || low[0] !== Infinity) { return; }
    data.sides.forEach(function (side) {
      side.strands.forEach(function (one) { if (one[1] === rapid && String(one[2]) === picked) { hold(one[3]); } });
      side.holes.forEach(function (one) { if (String(one[1]) === picked) { hold(one.slice(2)); } });
    });
  });
  if (low[0] === Infinity) { return null; }
  var pad = Math.max.apply(null, [0, 1, 2].map(function (i) {
    return Math.max((high[i] - low[i]) / 3, (data.box[i + 3] - data.box[i]) / 12); }));
  return low.map(function (figure, i) { return Math.max(figure - pad, data.box[i]); }).concat(
    high.map(function (figure, i) { return Math.min(figure + pad, data.box[i + 3]); }));
}

each(document.querySelectorAll('.paths'), function (box) {
  var data = JSON.parse(box.querySelector('script').textContent), picked = '', a = 0.6, b = 0.6;
  var choice = { tool: '', view: '', fit: 'all' };
  var operation = box.getAttribute('data-operation'), said = box.querySelector('.said');
  function fit() {
    return (choice.fit === 'change' && about(data, picked)) || (choice.fit === 'all' ? data.box : data.cuts);
  }
  function mark(svg, side) {
    each(svg.querySelectorAll('[data-mark]'), function (shape) {
      shape.classList.toggle('picked', picked !== '' && shape.getAttribute('data-mark') === picked);
      shape.classList.toggle('dim', choice.tool !== '' && side.tools[+shape.getAttribute('data-section')] !== choice.tool);
    });
  }
  function show(svg) {
    var view = svg.getAttribute('data-view'), side = data.sides[+svg.getAttribute('data-side')];
    var project = view === 'turn' ? turned(a, b) : FLAT[view], place = fitted(fit(), project);
    while (svg.lastChild) { svg.removeChild(svg.lastChild); }
    draw(svg, side, place);
    frame(svg, data, view, project, place);
    mark(svg, side);
  }
  function all(only) { each(box.querySelectorAll(only || 'svg[data-view]'), show); }
  function turn(da, db) { a += da; b = Math.max(0, Math.min(Math.PI / 2, b + db)); all('svg[data-view="turn"]'); }
  each(box.querySelectorAll('button[data-turn]'), function (button) {
    button.addEventListener('click', function () { var by = button.getAttribute('data-turn').split(' ');
      turn(+by[0], +by[1]); });
  });
  each(box.querySelectorAll('svg[data-view="turn"]'), function (svg) {
    var at = null;
    svg.addEventListener('pointerdown', function (event) { at = [event.clientX, event.clientY];
      svg.setPointerCapture(event.pointerId); });
    svg.addEventListener('pointermove', function (event) { if (at) {
      turn((event.clientX - at[0]) / 120, (event.clientY - at[1]) / 120); at = [event.clientX, event.clientY]; } });
    ['pointerup', 'pointercancel'].forEach(function (what) { svg.addEventListener(what, function () { at = null; }); });
  });
  each(box.querySelectorAll('select'), function (select) {
    select.addEventListener('change', function () {
      choice[select.getAttribute('data-choice')] = select.value;
      box.querySelector('.views').classList.toggle('one', choice.view !== '');
      each(box.querySelectorAll('svg[data-view]'), function (svg) {
        svg.parentNode.hidden = choice.view !== '' && svg.getAttribute('data-view') !== choice.view; });
      all();
    });
  });
  each(document.querySelectorAll('button[data-pick="' + operation + '"]'), function (button) {
    button.addEventListener('click', function () {
      var mark = button.getAttribute('data-place');
      picked = picked === mark ? '' : mark;
      each(document.querySelectorAll('button[data-pick="' + operation + '"]'), function (other) {
        other.setAttribute('aria-pressed', String(picked !== '' && other.getAttribute('data-place') === picked)); });
      said.textContent = picked === '' ? '' : 'Picked, the thickest line: ' + button.parentNode.querySelector('summary').textContent;
      all();
      if (picked) { box.scrollIntoView({ block: 'start' }); }
    });
  });
  all();
});

// On paper a few changes stand open; many stay folded by tool.
var opened = [];
window.addEventListener('beforeprint', function () {
  each(document.querySelectorAll('details'), function (one) {
    if (!one.open && !one.querySelector('details') && !one.parentNode.closest('details')) { one.open = true; opened.push(one); } });
});
window.addEventListener('afterprint', function () { opened.forEach(function (one) { one.open = false; }); opened = []; });
}());
"""
