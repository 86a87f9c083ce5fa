/* The web socket: asks with numbers, hands on what is told, comes back by itself when the line breaks. */

const waits = [250, 500, 1000, 2000, 4000];

export class Talk {
  constructor(told, gone) {
    this.told = told;      // {say: function(message)}
    this.gone = gone;      // function(whether the server is away)
    this.n = 0;
    this.tries = 0;
    this.asked = new Map(); // n -> function for its own answer
    this.connect();
  }

  connect() {
    const address = new URL("talk", location.href);
    address.protocol = "ws:";
    address.hash = "";
    this.line = new WebSocket(address);
    this.line.onopen = () => { this.tries = 0; this.gone(false); };
    this.line.onmessage = (event) => this.hear(JSON.parse(event.data));
    this.line.onclose = () => {
      this.asked.clear();
      this.gone(true);
      setTimeout(() => this.connect(), waits[Math.min(this.tries++, waits.length - 1)]);
    };
  }

  get open() { return this.line.readyState === WebSocket.OPEN; }

  ask(message, answer) {
    if (!this.open) return 0;
    const n = ++this.n;
    if (answer) this.asked.set(n, answer);
    this.line.send(JSON.stringify({ ...message, n }));
    return n;
  }

  hear(message) {
    for (const n of message.answers ?? [message.n]) {
      const answer = this.asked.get(n);
      this.asked.delete(n);
      if (answer?.(message)) return;
    }
    this.told[message.say]?.(message);
  }
}
