"""Reads a PDF with PyMuPDF, one layer switched on at a time, and prints as JSON, by layer, every
path that is drawn then and not when all layers are off: kinds and points in mm, y up."""
import json
import sys

import fitz

MM = 25.4 / 72


def paths(page):
    h = page.rect.height
    for d in page.get_drawings():
        kind, segs = [], []
        for it in d["items"]:
            if it[0] in ("l", "c"):
                kind.append(it[0])
                segs.append([[p.x * MM, (h - p.y) * MM] for p in it[1:]])
            elif it[0] in ("re", "qu"):
                q = it[1].quad if it[0] == "re" else it[1]
                c = [q.ul, q.ur, q.lr, q.ll, q.ul]
                for a, b in zip(c, c[1:]):
                    kind.append("l")
                    segs.append([[p.x * MM, (h - p.y) * MM] for p in (a, b)])
        yield {"kind": kind, "segs": segs}


def main():
    doc = fitz.open(sys.argv[1])
    out = {}
    boxes = doc.layer_ui_configs()

    def only(name):
        for b in boxes:
            doc.set_layer_ui_config(b["number"], 0 if b["text"] == name else 2)
        return [p for page in doc for p in paths(page)]

    bare = {json.dumps(p) for p in only(None)}
    for b in boxes:
        out[b["text"]] = [p for p in only(b["text"]) if json.dumps(p) not in bare]
    json.dump(out, sys.stdout)


main()
