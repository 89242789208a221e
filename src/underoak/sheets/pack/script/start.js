// Put the parts together. Without this script the page still shows walk, map and cards.

const start = async () => {
  const pack = JSON.parse(byId("pack-data").textContent);
  const keeper = new Keeper(pack.id);
  let here = null, book = null, writeDown = null, closer = null, handOver = null;

  const note = async (told) => {
    trouble(await keeper.add(told));
    handOver?.show();
  };
  const again = async () => {
    trouble(await keeper.again());
    writeDown?.show();
  };

  const sections = [...document.querySelectorAll("main > section")];
  const turnTo = (name, move) => {
    const shown = sections.find((s) => s.id === name) ?? sections[0];
    for (const section of sections) section.classList.toggle("shown", section === shown);
    for (const link of document.querySelectorAll("nav a")) {
      if (link.hash === `#${shown.id}`) link.setAttribute("aria-current", "page");
      else link.removeAttribute("aria-current");
    }
    if (shown.id === "note") writeDown?.show();
    if (shown.id === "vet") closer?.show();
    if (shown.id === "hand-over") handOver?.show();
    if (move) { window.scrollTo(0, 0); shown.querySelector("h2").focus({ preventScroll: true }); }
  };
  const sectionOf = (hash) => (hash.startsWith("#card-") ? "cards" : hash.slice(1));
  window.addEventListener("hashchange", () => turnTo(sectionOf(location.hash), true));

  document.documentElement.classList.add("js");
  turnTo(sectionOf(location.hash) || "walk", false);
  clockPart(pack);
  wherePart(pack, (at) => { here = at; });
  behindPart(pack);

  const torn = await keeper.open();
  book = bookOf(JSON.parse(byId("book-data").textContent));
  closer = lookCloserPart({ pack, book, keeper, note });
  const look = (bag) => { closer.open(bag); location.hash = "#vet"; };
  writeDown = writeDownPart({ pack, book, keeper, note, position: () => here, look });
  handOver = handOverPart({ pack, keeper, note, again });
  trouble(torn);
  document.documentElement.dataset.ready = "yes";
  window.underoakPack = { pack, keeper };
};

start();
