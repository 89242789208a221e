// Entries are only ever added. Each stands twice, in localStorage and in IndexedDB, so that one may fail.
// An entry is shown as kept only after at least one of the two has confirmed it.

const PREFIX = "underoak pack ";
const randomName = (length) => {
  const letters = "abcdefghijkmnpqrstuvwxyz23456789", bytes = crypto.getRandomValues(new Uint8Array(length));
  return [...bytes].map((b) => letters[b % letters.length]).join("");
};

const openDatabase = () => new Promise((resolve) => {
  let request;
  try { request = indexedDB.open("underoak pack", 1); } catch (fault) { resolve(null); return; }
  request.onupgradeneeded = () => request.result.createObjectStore("entries", { keyPath: ["pack", "id"] });
  request.onsuccess = () => resolve(request.result);
  request.onerror = request.onblocked = () => resolve(null);
});

const addToDatabase = (database, pack, entry) => new Promise((resolve) => {
  if (!database) { resolve("this telephone offers no second store"); return; }
  try {
    const work = database.transaction("entries", "readwrite", { durability: "strict" });
    work.objectStore("entries").add({ pack, id: entry.id, entry });
    work.oncomplete = () => resolve("");
    work.onerror = work.onabort = () => resolve(String(work.error?.name || "the second store failed"));
  } catch (fault) { resolve(String(fault.name || fault)); }
});

const allOfDatabase = (database, pack) => new Promise((resolve) => {
  if (!database) { resolve([]); return; }
  try {
    const request = database.transaction("entries").objectStore("entries").getAll();
    request.onsuccess = () => resolve(request.result.filter((r) => r.pack === pack).map((r) => r.entry));
    request.onerror = () => resolve([]);
  } catch (fault) { resolve([]); }
});

const addToStorage = (pack, entry) => {
  const key = `${PREFIX}${pack} ${entry.id}`, text = JSON.stringify(entry);
  try {
    localStorage.setItem(key, text);
    return localStorage.getItem(key) === text ? "" : "the first store did not give back what it was given";
  } catch (fault) { return String(fault.name || fault); }
};

const allOfStorage = (pack) => {
  const entries = [], torn = [];
  try {
    for (let i = 0; i < localStorage.length; i += 1) {
      const key = localStorage.key(i);
      if (!key.startsWith(`${PREFIX}${pack} `)) continue;
      try { entries.push(JSON.parse(localStorage.getItem(key))); } catch (fault) { torn.push(key); }
    }
  } catch (fault) { return { entries, torn }; }
  return { entries, torn };
};

// Small things such as the name of this telephone; losing them loses no entry.
const remember = (name, value) => { try { localStorage.setItem(`${PREFIX}${name}`, value); } catch (fault) { /* told by add */ } };
const recall = (name) => { try { return localStorage.getItem(`${PREFIX}${name}`); } catch (fault) { return null; } };

class Keeper {
  constructor(pack) {
    this.pack = pack;
    this.entries = [];
    this.state = new Map();
    this.device = recall("telephone") || randomName(8);
    remember("telephone", this.device);
  }

  async open() {
    this.database = await openDatabase();
    const { entries, torn } = allOfStorage(this.pack);
    const found = new Map([...await allOfDatabase(this.database, this.pack), ...entries].map((e) => [e.id, e]));
    this.entries = [...found.values()].sort((a, b) => a.number - b.number || byText(a.id, b.id));
    for (const entry of this.entries) this.state.set(entry.id, "kept");
    const own = this.entries[0]?.id.split("-")[0];
    if (own) this.device = own;
    return torn.length ? `${torn.length} entries could not be read again. Look through the list and note them anew.` : "";
  }

  get number() { return this.entries.reduce((most, e) => Math.max(most, e.number), 0) + 1; }

  // Resolves to "" when the entry is kept, else to why it is not; it stays in the list either way.
  async add(told, now = new Date()) {
    const number = this.number;
    const entry = { id: `${this.device}-${number}-${randomName(4)}`, number, at: momentText(now), ...told };
    this.entries.push(entry);
    this.state.set(entry.id, "keeping");
    const first = addToStorage(this.pack, entry);
    const second = await addToDatabase(this.database, this.pack, entry);
    const lost = Boolean(first && second);
    this.state.set(entry.id, lost ? "lost" : "kept");
    return lost ? notKeptWords(first, second) : "";
  }

  // Try again what was not kept, for when room was made.
  async again() {
    let still = "";
    for (const entry of this.entries.filter((e) => this.state.get(e.id) === "lost")) {
      const first = addToStorage(this.pack, entry);
      const second = await addToDatabase(this.database, this.pack, entry);
      if (first && second) still = notKeptWords(first, second);
      else this.state.set(entry.id, "kept");
    }
    return still;
  }

  get lost() { return this.entries.filter((e) => this.state.get(e.id) === "lost").length; }
}

const notKeptWords = (first, second) => {
  const full = /quota/i.test(first + second) ? "The telephone's storage is full" : "The telephone refuses to store";
  return `NOT KEPT. ${full} (${first}; ${second}). The entry is on this screen only: write it on paper, ` +
    "save the log under Hand over, make room, then press Try again.";
};
