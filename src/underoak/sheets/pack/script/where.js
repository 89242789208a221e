// Own position on the map, if the telephone grants it.

const metresBetween = (frame, a, b) =>
  Math.hypot((a.lon - b.lon) * frame.east_m, (a.lat - b.lat) * frame.north_m);

const onMap = (frame, at) => ({
  x: ((at.lon - frame.lon) * frame.east_m - frame.west) * frame.mm_per_m,
  y: (frame.north - (at.lat - frame.lat) * frame.north_m) * frame.mm_per_m,
});

const wherePart = (pack, heard) => {
  const map = byId("map"), svg = map.querySelector("svg"), frame = pack.frame;
  const status = el("p", { role: "status", class: "small" });
  let watch = null, mark = null;

  const draw = (at) => {
    const { x, y } = onMap(frame, at);
    const shape = (name, told) => {
      const node = document.createElementNS("http://www.w3.org/2000/svg", name);
      for (const [key, value] of Object.entries(told)) node.setAttribute(key, value);
      return node;
    };
    mark?.remove();
    mark = shape("g", { class: "own-position" });
    mark.append(
      shape("circle", { cx: x, cy: y, r: Math.max(2, at.within * frame.mm_per_m), fill: "#1b3f8b", "fill-opacity": 0.18, stroke: "#1b3f8b", "stroke-width": 0.4 }),
      shape("circle", { cx: x, cy: y, r: 2, fill: "#1b3f8b", stroke: "#fff", "stroke-width": 0.7 }));
    svg.append(mark);
    return x >= 0 && y >= 0 && x <= frame.width && y <= frame.height;
  };

  const words = (at, inside) => {
    const nearest = pack.turns.map((turn) => [metresBetween(frame, at, turn), turn]).sort((a, b) => a[0] - b[0])[0];
    const near = nearest ? ` The nearest turn is ${nearest[1].number}, ${Math.round(nearest[0])} m away.` : "";
    return `${inside ? "You are at the blue dot" : "You are outside this map"}, within ${Math.round(at.within)} m.${near}`;
  };

  const moved = (position) => {
    const at = { lon: position.coords.longitude, lat: position.coords.latitude, within: position.coords.accuracy };
    status.textContent = words(at, draw(at));
    heard(at);
  };

  const failed = (fault) => {
    status.textContent = fault.code === 1
      ? "This telephone does not let the page know where it is. Use the trail marks and the turn list."
      : "No position can be had right now. Use the trail marks and the turn list.";
  };

  const start = () => {
    if (!navigator.geolocation) { failed({ code: 1 }); return; }
    status.textContent = "Looking for the position …";
    if (watch !== null) navigator.geolocation.clearWatch(watch);
    watch = navigator.geolocation.watchPosition(moved, failed, { enableHighAccuracy: true, maximumAge: 10000 });
  };

  const larger = button("Larger map", () => {
    larger.textContent = map.classList.toggle("large") ? "Whole map" : "Larger map";
  });
  fill(byId("where"), el("div", { class: "row" }, larger, button("Where am I?", start)), status);
};
