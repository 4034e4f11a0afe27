// What waits on the phone, in IndexedDB: taps not yet sent, and answers nobody has seen.

const NAME = "sawbuck";
const STORES = ["taps", "answers"];

const done = (request) =>
  new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

const open = () => {
  const request = indexedDB.open(NAME, 1);
  request.onupgradeneeded = () => {
    for (const name of STORES) request.result.createObjectStore(name, { keyPath: "id", autoIncrement: true });
  };
  return done(request);
};

const finished = (transaction) =>
  new Promise((resolve, reject) => {
    transaction.oncomplete = resolve;
    transaction.onerror = transaction.onabort = () => reject(transaction.error);
  });

// Rejects where the browser keeps nothing (a private window of some): then taps are sent as plain forms.
export const openStore = async () => {
  const base = await open();
  const writing = (names) => base.transaction(names, "readwrite", { durability: "strict" });
  return {
    all: (name) => done(base.transaction(name).objectStore(name).getAll()),
    async add(name, thing) {
      const transaction = writing(name);
      const request = transaction.objectStore(name).add(thing);
      await finished(transaction);
      return request.result;
    },
    async change(name, thing) {
      const transaction = writing(name);
      transaction.objectStore(name).put(thing);
      await finished(transaction);
    },
    async remove(name, id) {
      const transaction = writing(name);
      transaction.objectStore(name).delete(id);
      await finished(transaction);
    },
    // The tap leaves and its answer comes in one step: nothing in between can be lost.
    async settle(tap, answer) {
      const transaction = writing(STORES);
      transaction.objectStore("taps").delete(tap.id);
      if (answer) transaction.objectStore("answers").add(answer);
      await finished(transaction);
    },
  };
};
