"use strict";
(function () {
  var data = JSON.parse(document.getElementById("book-data").textContent);
  var SVG = "http://www.w3.org/2000/svg";
  var MILLION = 1e6;

  function make(tag, text, kind) {
    var node = document.createElement(tag);
    if (text !== undefined) node.textContent = text;
    if (kind) node.className = kind;
    return node;
  }

  function draw(tag, attributes) {
    var node = document.createElementNS(SVG, tag);
    Object.keys(attributes).forEach(function (name) { node.setAttribute(name, attributes[name]); });
    return node;
  }

  function over(standing) {
    if (standing === 0) return "level par";
    return Math.abs(standing) + (standing > 0 ? " over" : " under");
  }

  function inHundred(millionths) {
    var times = millionths / 1e4;
    if (times > 0 && times < 0.05) return "<0.1";
    if (times > 99.95 && times < 100) return ">99.9";
    return times.toFixed(1);
  }

  /* Choices from a spot, best first: those level with the best chance of the target by expected score, then by
     chance. Level is what differs by less than GRAIN millionths: the grid of the plan cannot tell it apart. */
  var GRAIN = 500;

  function ranked(spot, left) {
    var at = left - spot.least;
    var open = spot.best.length > 0 && at >= 0 && at < spot.best.length;
    var rows = spot.choices.map(function (c) {
      return { label: c[0], club: c[1], aim: c[2], xy: c[3], carry: c[4], expected: c[5],
        lost: open ? c[6][at] : 0, chance: open ? spot.best[at] - c[6][at] : null, oval: c[7] };
    });
    function below(row) { return row.lost < GRAIN ? 0 : row.lost; }
    rows.sort(function (a, b) { return below(a) - below(b) || a.expected - b.expected; });
    var seen = {};
    rows = rows.filter(function (row) {
      var known = seen[row.club];
      seen[row.club] = true;
      return !known;
    });
    var state = open ? "open" : spot.best.length && at >= spot.best.length ? "sure" : "gone";
    return { rows: rows, state: state };
  }

  function Hole(article) {
    this.article = article;
    this.data = data.holes[article.dataset.hole];
    this.form = article.querySelector(".lookup");
    this.fields = {};
    Array.prototype.forEach.call(this.form.querySelectorAll("[data-field]"), function (field) {
      this.fields[field.dataset.field] = field;
    }, this);
    this.svg = article.querySelector(".map svg");
    this.live = null;
    this.shown = 0;
    this.touched = false;
    this.fillStandings();
    this.listen();
    this.form.hidden = false;
    this.update();
  }

  Hole.prototype.fillStandings = function () {
    var tee = this.data.spots[0], select = this.fields.standing;
    var best = Math.min(-4, this.data.left - (tee.least + tee.best.length - 1) - 1);
    var worst = Math.max(9, this.data.left - tee.least + 1);
    for (var s = best; s <= worst; s += 1) {
      var option = make("option", over(s));
      option.value = String(s);
      option.selected = s === 0;
      select.appendChild(option);
    }
  };

  Hole.prototype.listen = function () {
    var self = this, fields = this.fields;
    fields.spot.addEventListener("change", function () {
      fields.strokes.value = String(self.data.spots[Number(fields.spot.value)].strokes);
      self.touch();
    });
    fields.standing.addEventListener("change", function () { self.touch(); });
    fields.strokes.addEventListener("change", function () { self.touch(); });
    this.form.querySelector("form").addEventListener("submit", function (event) { event.preventDefault(); });
    this.svg.addEventListener("click", function (event) {
      var matrix = self.svg.getScreenCTM();
      if (!matrix) return;
      var point = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse());
      fields.spot.value = String(self.nearest(point.x, -point.y));
      fields.spot.dispatchEvent(new Event("change"));
    });
  };

  Hole.prototype.nearest = function (x, y) {
    var least = Infinity, found = 0;
    this.data.spots.forEach(function (spot, i) {
      var away = Math.hypot(spot.at[0] - x, spot.at[1] - y);
      if (away < least) { least = away; found = i; }
    });
    return found;
  };

  Hole.prototype.touch = function () {
    this.touched = true;
    this.shown = 0;
    this.update();
  };

  Hole.prototype.update = function () {
    var spot = this.data.spots[Number(this.fields.spot.value)];
    var standing = Number(this.fields.standing.value), strokes = Number(this.fields.strokes.value);
    var answer = ranked(spot, this.data.left - standing - strokes);
    this.tell(spot, answer);
    this.list(answer);
    this.map(spot, answer.rows[this.shown]);
    this.mark(standing);
  };

  Hole.prototype.tell = function (spot, answer) {
    var part = this.form.querySelector("[data-part=answer]"), top = answer.rows[0];
    var target = data.target + " or better";
    var chance = top.chance === null ? "" : target + ": " + inHundred(top.chance) + " in 100. ";
    var why = { open: "", sure: target + " is all but sure: play for the average. ",
      gone: target + " is all but out of reach: play for the average. " }[answer.state];
    part.replaceChildren(
      make("p", top.label, "pick"),
      make("p", (top.aim ? "Aim " + top.aim + ". " : "")),
      make("p", why + chance + top.expected.toFixed(2) + " strokes to hole out from here, on average.")
    );
  };

  Hole.prototype.list = function (answer) {
    var self = this, table = make("table"), head = make("tr"), body = make("tbody");
    [["choice", ""], ["carry", "n"], ["strokes", "n"], ["for " + data.target, "n"]].forEach(function (h) {
      var cell = make("th", h[0], h[1]);
      cell.scope = "col";
      head.appendChild(cell);
    });
    answer.rows.forEach(function (row, i) {
      var line = make("tr", undefined, i === self.shown ? "shown" : ""), first = make("th"), button = make("button", row.label);
      button.type = "button";
      button.setAttribute("aria-pressed", String(i === self.shown));
      button.addEventListener("click", function () {
        self.shown = i;
        self.touched = true;
        self.update();
        self.form.querySelectorAll(".choices button")[i].focus();
      });
      first.scope = "row";
      first.append(button, make("span", row.aim.replace(/ yards? /, " ").replace(", at ", ", ends ")));
      line.append(first, make("td", row.carry ? String(row.carry) : "", "n"), make("td", row.expected.toFixed(2), "n"),
        make("td", row.chance === null ? "" : inHundred(row.chance), "n"));
      body.appendChild(line);
    });
    var cap = make("caption", "Ranked choices. Carry in yards; strokes to hole out; rounds in 100 that reach the target. " +
      "A choice's name shows it on the map.", "hint"), top = make("thead");
    cap.style.captionSide = "bottom";
    cap.style.textAlign = "left";
    top.appendChild(head);
    table.append(cap, top, body);
    this.form.querySelector("[data-part=choices]").replaceChildren(table);
  };

  Hole.prototype.map = function (spot, row) {
    if (!this.live) {
      this.live = draw("g", { "class": "live" });
      this.dots = draw("g", {});
      this.shot = draw("g", {});
      this.data.spots.forEach(function (one) {
        this.dots.appendChild(draw("circle", { "class": "spot", cx: one.at[0], cy: -one.at[1], r: 1.1 * this.data.grain }));
      }, this);
      this.live.append(this.dots, this.shot);
      this.svg.appendChild(this.live);
    }
    this.shot.replaceChildren();
    this.svg.classList.toggle("looking", this.touched);
    if (!this.touched) return;
    var x = spot.at[0], y = -spot.at[1], grain = this.data.grain, oval = row.oval;
    if (oval) {
      this.shot.appendChild(draw("ellipse", { "class": "reach", rx: oval[3], ry: oval[2],
        transform: "translate(" + oval[0] + " " + -oval[1] + ") rotate(" + oval[4] + ")" }));
      this.shot.appendChild(draw("path", { "class": "shot", d: "M" + x + " " + y + "L" + row.xy[0] + " " + -row.xy[1] }));
    }
    this.shot.appendChild(draw("circle", { "class": "ball", cx: x, cy: y, r: 1.4 * grain }));
    this.shot.appendChild(draw("circle", { "class": "here", cx: x, cy: y, r: 3.2 * grain }));
  };

  /* Point out the line of the printed switches that holds at the standing picked. */
  Hole.prototype.mark = function (standing) {
    Array.prototype.forEach.call(this.article.querySelectorAll(".switches tr"), function (row) {
      var span = row.querySelector("[data-from]");
      if (!span) return;
      var from = span.dataset.from === "" ? -Infinity : Number(span.dataset.from);
      var to = span.dataset.to === "" ? Infinity : Number(span.dataset.to);
      row.classList.toggle("now", this.touched && standing >= from && standing <= to);
    }, this);
  };

  Array.prototype.forEach.call(document.querySelectorAll(".hole"), function (article) { new Hole(article); });

  var links = document.querySelectorAll("nav a");
  if ("IntersectionObserver" in window) {
    var watch = new IntersectionObserver(function (entries) {
      entries.forEach(function (entry) {
        if (!entry.isIntersecting) return;
        links.forEach(function (link) {
          if (link.hash === "#" + entry.target.id) link.setAttribute("aria-current", "true");
          else link.removeAttribute("aria-current");
        });
      });
    }, { rootMargin: "-20% 0px -70% 0px" });
    document.querySelectorAll(".page").forEach(function (page) { watch.observe(page); });
  }
})();
