// The map on the screen: layers of the home's own ground; pictures below them only where the settings name them.
"use strict";

// Tiles below the layers: those of the file first, those of the network only when nothing else is there or
// somebody asks for them, because whoever serves them learns what is looked at.
const pictures = (map, told) => {
  const found = {};
  if (told.file) {
    found[told.file] = L.tileLayer("/map/tiles/{z}/{x}/{y}", {
      minNativeZoom: Number(told.leastZoom), maxNativeZoom: Number(told.mostZoom), maxZoom: 21,
    });
  }
  if (told.address) found["Map from the network"] = L.tileLayer(told.address, { maxNativeZoom: 18, maxZoom: 21 });
  const all = Object.values(found);
  if (!all.length) return null;
  found["No pictures"] = L.layerGroup();
  all[0].addTo(map);
  if (told.credit) {
    const credit = document.createElement("span");
    credit.textContent = told.credit;
    L.control.attribution({ prefix: false }).addAttribution(credit.innerHTML).addTo(map);
  }
  return found;
};

(async () => {
  const box = document.getElementById("map");
  if (!box || typeof L === "undefined") return;
  box.hidden = false;
  const style = getComputedStyle(document.documentElement);
  const colour = (name) => style.getPropertyValue(name).trim();
  const ground = await (await fetch(box.dataset.ground)).json();
  // A finger is wider than a tree: what is drawn last within its reach is meant.
  const map = L.map(box, { renderer: L.canvas({ padding: 0.3, tolerance: 12 }), attributionControl: false, maxZoom: 21, zoomSnap: 0.5 });
  map.setView(ground.home, 14);
  L.control.scale({ imperial: box.dataset.units === "us", metric: box.dataset.units !== "us" }).addTo(map);

  const words = (lines, address, link) => {
    const part = document.createElement("div");
    for (const line of lines.filter(Boolean)) {
      const row = document.createElement("div");
      row.textContent = line;
      part.append(row);
    }
    if (address) {
      const anchor = document.createElement("a");
      anchor.href = address;
      anchor.textContent = link;
      part.append(anchor);
    }
    return part;
  };
  const dayWords = (day) => new Date(`${day}T12:00`).toLocaleDateString("en-GB", { day: "numeric", month: "long", year: "numeric" });
  const permission = { allowed: "gathering allowed", forbidden: "gathering forbidden", unknown: "permission not known: look only" };

  const layers = {
    "Woods": L.geoJSON(ground.places, {
      style: (f) => ({ color: colour("--bark"), weight: 2, fillColor: colour("--moss"), fillOpacity: 0.08, dashArray: f.properties.permission === "allowed" ? null : "6 5" }),
      onEachFeature: (f, layer) => layer.bindPopup(() => words([f.properties.name, permission[f.properties.permission], f.properties.who])),
    }),
    "Contours": L.geoJSON(ground.contours, {
      style: { color: colour("--soft"), weight: 0.7, opacity: 0.6 }, interactive: false,
    }),
    "Trails": L.geoJSON(ground.trails, {
      style: (f) => ({ color: colour("--ink"), weight: 2, dashArray: f.properties.closed ? "2 8" : null }),
      onEachFeature: (f, layer) => layer.bindPopup(() => words([f.properties.name || "a trail", f.properties.closed ? "closed" : f.properties.surface])),
    }),
    "Trees": L.geoJSON(ground.trees, {
      pointToLayer: (f, at) => L.circleMarker(at, {
        radius: 1.5 + Math.min((f.properties.diameter_cm || 30) / 40, 4), weight: 1, color: colour("--moss"),
        fill: true, fillColor: f.properties.oak ? colour("--moss") : colour("--sheet"),
        fillOpacity: 0.9, dashArray: f.properties.kind === "conifer" ? "2 2" : null,
      }),
      onEachFeature: (f, layer) => layer.bindPopup(() => words(
        [f.properties.name, f.properties.diameter_cm ? `${Math.round(f.properties.diameter_cm)} cm` : "", f.properties.condition === "unknown" ? "" : f.properties.condition],
        `/map/tree/${encodeURIComponent(f.properties.id)}`, "Its story")),
    }),
    "Spots": L.geoJSON(ground.spots, {
      pointToLayer: (f, at) => L.circleMarker(at, {
        radius: 5 + Math.min(f.properties.finds, 8) / 2, weight: 2.5, color: colour("--warn"),
        fill: true, fillColor: colour("--sheet"), fillOpacity: f.properties.finds ? 0.9 : 0.4,
      }),
      onEachFeature: (f, layer) => layer.bindPopup(() => words(
        [f.properties.name, f.properties.finds ? `${f.properties.finds} ${f.properties.finds === 1 ? "find" : "finds"}, last on ${dayWords(f.properties.last)}` : "no find yet"],
        `/map/spot/${encodeURIComponent(f.properties.id)}`, "Its story")),
    }),
    "Car parks": L.geoJSON(ground.car_parks, {
      pointToLayer: (f, at) => L.marker(at, {
        icon: L.divIcon({ className: "car-park", html: "P", iconSize: [26, 26] }), alt: `Car park ${f.properties.name}`,
      }),
      onEachFeature: (f, layer) => layer.bindPopup(() => words([f.properties.name])),
    }),
  };
  if (box.dataset.walk) {
    const walk = await (await fetch(box.dataset.walk)).json();
    layers["The walk"] = L.geoJSON(walk, {
      filter: (f) => f.geometry.type === "LineString",
      style: { color: colour("--warn"), weight: 5, opacity: 0.85 }, interactive: false,
    });
  }
  for (const layer of Object.values(layers)) layer.addTo(map);
  L.control.layers(pictures(map, box.dataset), layers, { collapsed: window.innerWidth < 700 }).addTo(map);
  const shown = layers["The walk"] && layers["The walk"].getLayers().length ? layers["The walk"]
    : L.featureGroup([layers["Woods"], layers["Spots"], layers["Trails"]]);
  if (shown.getBounds().isValid()) map.fitBounds(shown.getBounds(), { padding: [16, 16] });
  const choice = document.querySelector("[data-show]");
  if (choice) {
    choice.hidden = false;
    for (const button of choice.querySelectorAll("button")) {
      button.addEventListener("click", () => {
        const wood = layers["Woods"].getLayers().find((one) => one.feature.properties.name === button.dataset.place);
        if (wood) map.fitBounds(wood.getBounds(), { padding: [16, 16] });
        box.scrollIntoView({ block: "nearest" });
      });
    }
  }
  map.on("contextmenu", (event) => {
    const at = event.latlng.wrap();
    const address = `/ground/spot?latitude=${at.lat.toFixed(6)}&longitude=${at.lng.toFixed(6)}`;
    L.popup().setLatLng(at).setContent(words([`${at.lat.toFixed(5)}, ${at.lng.toFixed(5)}`], address, "Write down a spot here")).openOn(map);
  });
  box.dataset.ready = "yes";
})();
