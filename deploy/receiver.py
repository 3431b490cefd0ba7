#!/usr/bin/env python3
"""Takes one webhook on this machine, checks its signature with the snippet of the documentation, and ends:
0 when it was signed with the secret, 1 when not.

    receiver.py SECRET_FILE PORT_FILE    listens on a free port and writes it to PORT_FILE"""
import http.server, json, os, sys

sys.dont_write_bytecode = True  # nothing is left beside the snippet
sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "openapi", "docs", "snippets"))
from verify import verify

secret_file, port_file = sys.argv[1:]
taken = []


class Hooks(http.server.BaseHTTPRequestHandler):
    def do_POST(self):
        body = self.rfile.read(int(self.headers["content-length"]))
        headers = {k.lower(): v for k, v in self.headers.items()}
        with open(secret_file) as f:
            ok = verify(f.read().strip(), headers, body)
        taken.append(ok)
        self.send_response(204 if ok else 400)
        self.end_headers()
        event = json.loads(body)
        print(event["type"], event["data"].get("run_id", ""), "verified" if ok else "NOT OURS", flush=True)

    def log_message(self, *args):
        pass


with http.server.HTTPServer(("127.0.0.1", 0), Hooks) as server:
    server.timeout = 50
    with open(port_file + ".new", "w") as f:
        f.write(str(server.server_port))
    os.rename(port_file + ".new", port_file)
    server.handle_request()
sys.exit(0 if taken == [True] else 1)
