// A storefront's server for webhooks, on this machine: it takes one, verifies it with the public library, and
// ends, with 1 when it was not signed with the secret.
//
//   node dist/receive.js SECRET_FILE PORT_FILE
import { readFileSync, renameSync, writeFileSync } from "node:fs";
import { createServer } from "node:http";
import type { AddressInfo } from "node:net";
import { told } from "./client.js";

const [secretFile = "", portFile = ""] = process.argv.slice(2);

const server = createServer((request, response) => {
  const parts: Buffer[] = [];
  request.on("data", (part: Buffer) => parts.push(part));
  request.on("end", () => {
    try {
      const event = told(readFileSync(secretFile, "utf8").trim(), Buffer.concat(parts).toString(), request.headers as Record<string, string>);
      response.writeHead(204).end();
      console.log(event.type, event.data.run_id, "verified");
    } catch (e) {
      response.writeHead(400).end();
      console.error(e);
      process.exitCode = 1;
    }
    server.close();
    server.closeAllConnections();
  });
});
server.listen(0, "127.0.0.1", () => {
  writeFileSync(portFile + ".new", String((server.address() as AddressInfo).port));
  renameSync(portFile + ".new", portFile);
});
