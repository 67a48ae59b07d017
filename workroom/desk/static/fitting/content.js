// What stands on the page, as a card's content: read, changed, taken back.
export class Content {
  constructor(content, changed) {
    this.now = content;
    this.saved = JSON.stringify(content);
    this.past = [];
    this.hand = "";
    this.changed = changed;
  }

  at(path) {
    return path.split(".").reduce((table, key) => (table || {})[key], this.now);
  }

  put(path, value) {
    const keys = path.split(".");
    const last = keys.pop();
    let table = this.now;
    for (const key of keys) {
      if (typeof table[key] !== "object" || table[key] === null) table[key] = {};
      table = table[key];
    }
    if (value === "" || value === null || value === undefined) delete table[last];
    else table[last] = value;
  }

  // One thing that can be undone; typing on in the same field is still the same thing.
  change(path, value) {
    this.remember(path);
    this.put(path, value);
    this.changed();
  }

  remember(hand) {
    if (hand && hand === this.hand) return;
    this.hand = hand;
    this.past.push(JSON.stringify(this.now));
    if (this.past.length > 200) this.past.shift();
  }

  letGo() {
    this.hand = "";
  }

  undo() {
    if (!this.past.length) return false;
    this.now = JSON.parse(this.past.pop());
    this.hand = "";
    return true;
  }

  // What stands here and all that can be undone, turned into something else that means the same.
  turnAll(turned) {
    this.now = turned(this.now);
    this.past = this.past.map((one) => JSON.stringify(turned(JSON.parse(one))));
  }

  get dirty() {
    return JSON.stringify(this.now) !== this.saved;
  }
}
