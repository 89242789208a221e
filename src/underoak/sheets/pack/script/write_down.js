// Finds and spots that held nothing, the list of all entries, and who holds this telephone.

const LOOKS = [[0.3, "a glance"], [0.6, "a look around"], [0.9, "on hands and knees"]];
const STAGES = [["prime", "prime"], ["young", "too young, left standing"], ["past", "past, left standing"]];

const bagName = (pack, person, entries) => {
  const others = pack.party.filter((name) => name !== person);
  let length = 1;
  while (length < person.length && others.some((n) => n.slice(0, length).toLowerCase() === person.slice(0, length).toLowerCase())) length += 1;
  const start = person ? person.slice(0, length) : "X";
  const used = new Set(entries.filter((e) => e.kind === "find").map((e) => e.bag.toLowerCase()));
  let number = 1;
  while (used.has(`${start}${number}`.toLowerCase())) number += 1;
  return `${start}${number}`;
};

const writeDownPart = ({ pack, book, keeper, note, position, look }) => {
  const spotName = (id) => allSpots().find((s) => s.id === id)?.name ?? id;
  const taxonName = (id) => (id ? book.taxon.get(id)?.common || book.taxon.get(id)?.name || id : "no name yet");
  const allSpots = () => [...pack.spots, ...[...currentOf(keeper.entries).values()]
    .filter((e) => e.kind === "spot").map((e) => ({ id: e.spot_id, name: e.name, lon: e.lon, lat: e.lat }))];
  const near = (spots) => {
    const at = position();
    if (!at) return spots;
    return [...spots].sort((a, b) => metresBetween(pack.frame, at, a) - metresBetween(pack.frame, at, b));
  };

  const searchedAs = (spot) => currentOf(keeper.entries).get(`search:${spot.id}`);
  const nothing = async (spot, thoroughness) => {
    await note({ kind: "search", spot_id: spot.id, thoroughness });
    show();
  };
  const spotBox = (spot) => {
    const done = searchedAs(spot);
    const words = done ? `Nothing there, after ${(LOOKS.find(([t]) => t === done.thoroughness) ?? [0, "a look"])[1]}: noted.` : "";
    const found = findsOf(keeper.entries).filter((f) => f.spot_id === spot.id);
    const told = found.length ? `Noted here: ${found.map((f) => `bag ${f.bag}`).join(", ")}.` : words;
    const looks = LOOKS.map(([t, w]) => button(w, () => nothing(spot, t),
      { class: done?.thoroughness === t ? "chosen" : "", "aria-pressed": String(done?.thoroughness === t) }));
    return el("li", { class: "spot" },
      el("p", {}, el("strong", {}, spot.name), spot.host ? ` (${spot.host})` : "", told ? ` ${told}` : ""),
      button("Found something", () => open({ spot_id: spot.id }), { class: "main", "aria-label": `Found something at ${spot.name}` }),
      el("details", {}, el("summary", { "aria-label": `Nothing at ${spot.name}` }, "Nothing there"),
        el("div", { class: "row", role: "group", "aria-label": `How did you look at ${spot.name}?` }, looks)));
  };

  const showSpots = () => fill(byId("spots"),
    el("h3", {}, "Where are you?"),
    button("Found something elsewhere", () => open({}), { class: "main whole" }),
    el("ul", { class: "plain" }, near(allSpots()).map(spotBox)));

  // A find at a spot nobody knows yet: a name, and a position from the telephone or from a turn of the walk.
  const newSpot = () => {
    const at = position();
    const name = el("input", { type: "text", maxlength: "60", autocomplete: "off" });
    const turns = pack.turns.map((t) => [String(t.number), `at turn ${t.number}`]);
    const place = choice([...(at ? [["here", `here, within ${Math.round(at.within)} m`]] : []), ...turns]);
    return { box: el("div", {}, field("Name of the new spot", name, "Something you will know again, like: split oak by the wall."), field("Where is it?", place)),
      read: () => {
        if (!name.value.trim()) return null;
        const turn = pack.turns.find((t) => String(t.number) === place.value);
        const from = place.value === "here" ? at : { ...turn, within: 60 };
        return { kind: "spot", spot_id: `new:${name.value.trim().toLowerCase()}`, name: name.value.trim(), lon: from.lon, lat: from.lat, within_m: Math.round(from.within) };
      } };
  };

  const open = (told) => {
    const form = el("form", { novalidate: true });
    const fresh = told.spot_id ? null : newSpot();
    const bag = el("input", { type: "text", maxlength: "12", autocomplete: "off", value: told.bag ?? bagName(pack, walkOf(keeper.entries)?.holder ?? "", keeper.entries) });
    if (told.bag) bag.readOnly = true;
    const taxon = choice([["", "no name yet"], ...pack.targets.map((id) => [id, `${taxonName(id)} (${book.taxon.get(id).name})`])], told.taxon_id ?? "");
    const stage = choice(STAGES, told.stage ?? "prime");
    const bodies = el("input", { type: "number", min: "1", max: "500", inputmode: "numeric", value: told.bodies ?? "" });
    const weight = el("input", { type: "number", min: "1", max: "99999", inputmode: "decimal", value: told.fresh_g ?? "" });
    const photos = el("input", { type: "text", maxlength: "300", autocomplete: "off", value: (told.photos ?? []).join(", ") });
    const remark = el("input", { type: "text", maxlength: "300", autocomplete: "off", value: told.note ?? "" });
    const fault = el("p", { role: "alert", class: "lost" });
    const save = async (event) => {
      event.preventDefault();
      if (form.dataset.sent) return;
      const spot = fresh ? fresh.read() : null;
      const text = { bag: bag.value.trim(), bodies: Number(bodies.value) || null, fresh_g: Number(weight.value) || null };
      if (fresh && !spot) { fault.textContent = "Give the new spot a name."; return; }
      if (!/^[\p{L}\p{N}]{1,12}$/u.test(text.bag)) { fault.textContent = "The bag needs a short name of letters and digits, such as M1."; return; }
      if (text.bodies !== null && !(Number.isInteger(text.bodies) && text.bodies >= 1 && text.bodies <= 500)) { fault.textContent = "Bodies: a whole number from 1 to 500, or leave it empty."; return; }
      if (text.fresh_g !== null && !(text.fresh_g > 0 && text.fresh_g < 100000)) { fault.textContent = "Weight: grams, more than 0, or leave it empty."; return; }
      form.dataset.sent = "yes";
      if (spot) await note(spot);
      await note({ kind: "find", ...text, spot_id: spot ? spot.spot_id : told.spot_id, taxon_id: taxon.value || null, stage: stage.value,
        photos: photos.value.split(",").map((p) => p.trim()).filter(Boolean), note: remark.value.trim(), gone: false });
      close();
      show();
    };
    form.addEventListener("submit", save);
    form.append(...[
      el("h3", { tabindex: "-1" }, told.bag ? `Correct bag ${told.bag}` : "A find"),
      told.spot_id ? el("p", {}, `At ${spotName(told.spot_id)}.`) : fresh.box,
      field("Bag", bag, "Write the same on the bag: one kind from one spot in each."),
      field("What somebody takes it for", taxon, "Only a name in mind. Look closer asks what it could be instead."),
      field("How far along", stage), field("How many bodies or stems", bodies), field("Weight in grams", weight),
      field("Photos: file names", photos, "With commas between. The photos stay on the telephone."), field("Remark", remark),
      fault, el("button", { type: "submit", class: "main whole" }, "Keep it"), button("Never mind", () => { close(); show(); }, { class: "whole" }),
    ]);
    for (const part of ["spots", "log", "tally"]) byId(part).hidden = true;
    fill(byId("find-form"), form);
    form.querySelector("h3").focus();
  };
  const close = () => { byId("find-form").hidden = true; byId("find-form").replaceChildren(); };

  const entryWords = (e) => {
    if (e.kind === "find") return e.gone ? `Bag ${e.bag} struck out` : `Bag ${e.bag}: ${taxonName(e.taxon_id)} at ${spotName(e.spot_id)}, ${e.stage}` +
      `${e.bodies ? `, ${e.bodies} bodies` : ""}${e.fresh_g ? `, ${grams(e.fresh_g)}` : ""}`;
    if (e.kind === "search") return `${spotName(e.spot_id)}: nothing`;
    if (e.kind === "spot") return `New spot: ${e.name}`;
    if (e.kind === "walk") return `Who holds this telephone: ${e.holder}`;
    return `Bag ${e.bag}: ${e.name.replaceAll("_", " ").replace(".", " ")} noted`;
  };
  const KEPT = { kept: ["kept", "kept"], lost: ["lost", "NOT KEPT"], keeping: ["", "keeping …"] };
  const showLog = () => {
    const finds = findsOf(keeper.entries);
    const bagBox = (f) => el("li", { class: "spot" }, el("p", {}, entryWords(f)), el("div", { class: "row" },
      button("Look closer", () => look(f.bag), { "aria-label": `Look closer at bag ${f.bag}` }), button("Correct", () => open(f), { "aria-label": `Correct bag ${f.bag}` }),
      button("Strike out", async () => { await note({ ...bare(f), gone: true }); show(); }, { "aria-label": `Strike out bag ${f.bag}` })));
    const line = (e) => {
      const [style, words] = KEPT[keeper.state.get(e.id)];
      return el("li", {}, `${e.at.slice(11, 16)} ${entryWords(e)} `, el("span", { class: style }, words));
    };
    fill(byId("log"), el("h3", {}, "Bags"), finds.length ? el("ul", { class: "plain" }, finds.map(bagBox)) : el("p", {}, "No bag yet."),
      el("details", {}, el("summary", {}, `Everything noted: ${keeper.entries.length}`), el("ul", { class: "plain log" }, [...keeper.entries].reverse().map(line))));
  };
  const bare = ({ id, number, at, ...told }) => told;

  // Bags are numbered by whoever holds the telephone, so this is asked before the first find.
  const askHolder = () => {
    const holder = choice([["", "choose"], ...pack.party.map((n) => [n, n])]);
    holder.addEventListener("change", async () => { await note({ kind: "walk", holder: holder.value, people: pack.party, minutes: null }); show(); });
    byId("tally").prepend(el("div", { class: "box" }, field("Who holds this telephone?", holder, "Bags are numbered by that name.")));
  };

  const show = () => {
    if (!byId("find-form").hidden) return;
    tallyPart(pack, keeper);
    if (!walkOf(keeper.entries)) askHolder();
    showSpots();
    showLog();
  };
  close();
  show();
  return { show, open };
};
