"""Reads a PDF with PyMuPDF, an independent reader, and tells what it sees as JSON.

usage: read.py lines FILE          every path on every page, in mm, origin lower left
       read.py about FILE          metadata, page boxes and labels, layers, fonts
       read.py ink FILE DPI [N..]  dark pixels per page with only the layers named N.. on
       read.py bars FILE DPI Y     dark runs (start, length in mm) along height Y mm of page 1
       read.py chars FILE          every page: characters with origin, box and size in mm
       read.py shapes FILE TTF     page 1: pixels that differ when the reader draws the same letters at
                                   the same places itself, from the whole font
"""
import json
import sys

import fitz

MM = 25.4 / 72


def lines(doc):
    pages = []
    for page in doc:
        h = page.rect.height

        def mm(p):
            return [p.x * MM, (h - p.y) * MM]

        paths = []
        for d in page.get_drawings():
            segs = []
            for it in d["items"]:
                if it[0] in ("l", "c"):
                    segs.append([mm(p) for p in it[1:]])
                elif it[0] == "re":
                    r = it[1]
                    segs.append([mm(r.bl), mm(r.br), mm(r.tr), mm(r.tl)])
                elif it[0] == "qu":
                    q = it[1]
                    segs.append([mm(q.ul), mm(q.ur), mm(q.lr), mm(q.ll)])
            paths.append({
                "kind": [it[0] for it in d["items"]], "segs": segs,
                "width": (d.get("width") or 0) * MM, "color": d.get("color"), "fill": d.get("fill"),
                "layer": d.get("layer") or "", "dashes": d.get("dashes"),
            })
        pages.append(paths)
    return pages


def about(doc):
    return {
        "metadata": doc.metadata,
        "xmp": doc.get_xml_metadata(),
        "pages": [{"w": p.mediabox.width * MM, "h": p.mediabox.height * MM, "rot": p.rotation,
                   "label": p.get_label(), "text": p.get_text()} for p in doc],
        "layers": [[b["text"], b["on"]] for b in doc.layer_ui_configs()],
        "groups": [v["name"] for _, v in sorted(doc.get_ocgs().items())],
        "fonts": sorted({f[3] for p in doc for f in p.get_fonts(full=True)}),
        "version": doc.metadata["format"], "repaired": doc.is_repaired,
        "catalog": doc.xref_object(doc.pdf_catalog()),
    }


def dark(page, dpi):
    pix = page.get_pixmap(dpi=dpi, colorspace=fitz.csGRAY)
    return sum(1 for v in pix.samples if v < 200)


def ink(doc, dpi, names):
    # The list of layers as a reader's side bar shows it; 0 switches one on, 2 off.
    for box in doc.layer_ui_configs():
        doc.set_layer_ui_config(box["number"], 0 if box["text"] in names else 2)
    return [dark(p, dpi) for p in doc]


def bars(doc, dpi, y):
    page = doc[0]
    pix = page.get_pixmap(dpi=dpi, colorspace=fitz.csGRAY)
    row = round(pix.height - y / 25.4 * dpi)
    data = pix.samples[row * pix.stride:row * pix.stride + pix.width]
    runs, start = [], None
    for i, v in enumerate(data + b"\xff"):
        if v < 128 and start is None:
            start = i
        elif v >= 128 and start is not None:
            runs.append([start / dpi * 25.4, (i - start) / dpi * 25.4])
            start = None
    return runs


def chars(doc):
    return [page_chars(page) for page in doc]


def page_chars(page):
    h = page.rect.height
    out = []
    for b in page.get_text("rawdict")["blocks"]:
        for line in b.get("lines", []):
            for span in line["spans"]:
                for c in span["chars"]:
                    x0, y0, x1, y1 = c["bbox"]
                    out.append({"c": c["c"], "x": c["origin"][0] * MM, "y": (h - c["origin"][1]) * MM,
                                "x0": x0 * MM, "x1": x1 * MM, "size": span["size"] * MM, "font": span["font"]})
    return out


def shapes(doc, ttf):
    page = doc[0]
    ours = page.get_pixmap(dpi=300, colorspace=fitz.csGRAY)
    letters = page_chars(page)
    first = letters[0]
    other = fitz.open()
    p = other.new_page(width=page.rect.width, height=page.rect.height)
    p.insert_font(fontname="F0", fontfile=ttf)
    for c in letters:
        p.insert_text((c["x"] / MM, page.rect.height - c["y"] / MM), c["c"], fontname="F0", fontsize=first["size"] / MM)
    theirs = p.get_pixmap(dpi=300, colorspace=fitz.csGRAY)
    a, b = ours.samples, theirs.samples
    inked = sum(1 for v in b if v < 128)
    return {"inked": inked, "differ": sum(1 for u, v in zip(a, b) if abs(u - v) > 100),
            "read": "".join(c["c"] for c in letters)}


def main():
    mode, path, rest = sys.argv[1], sys.argv[2], sys.argv[3:]
    doc = fitz.open(path)
    out = {
        "lines": lambda: lines(doc),
        "about": lambda: about(doc),
        "ink": lambda: ink(doc, int(rest[0]), rest[1:]),
        "bars": lambda: bars(doc, int(rest[0]), float(rest[1])),
        "chars": lambda: chars(doc),
        "shapes": lambda: shapes(doc, *rest),
    }[mode]()
    json.dump(out, sys.stdout)


main()
