// The connection to the program: what it says goes to listeners, what the person asks for goes to it.

const WAIT_MS = 800;

export class Link extends EventTarget {
  #socket = null;
  #picture = null;

  open() {
    const address = new URL("socket", location.href);
    address.protocol = "ws:";
    const socket = new WebSocket(address);
    socket.binaryType = "blob";
    socket.onopen = () => this.#tell("open");
    socket.onmessage = (event) => this.#receive(event.data);
    socket.onclose = () => {
      this.#tell("closed");
      setTimeout(() => this.open(), WAIT_MS);
    };
    this.#socket = socket;
  }

  // A picture comes just before the glimpse that belongs to it.
  async #receive(data) {
    if (typeof data !== "string") {
      this.#picture = createImageBitmap(data).catch(() => null);
      return;
    }
    const message = JSON.parse(data);
    if (message.kind === "glimpse") {
      const picture = this.#picture;
      this.#picture = null;
      message.picture = await picture;
      this.#tell("glimpse", message);
      this.ask({ do: "drawn" });
    } else if (message.kind) {
      this.#tell(message.kind, message);
    } else {
      this.ask({ do: "drawn" });
    }
  }

  ask(request) {
    if (this.#socket?.readyState === WebSocket.OPEN) this.#socket.send(JSON.stringify(request));
  }

  send(blob) {
    if (this.#socket?.readyState === WebSocket.OPEN) this.#socket.send(blob);
  }

  #tell(kind, detail) {
    this.dispatchEvent(new CustomEvent(kind, { detail }));
  }
}
