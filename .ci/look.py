"""Looks at the demo's files with PyMuPDF, which knows nothing of this project: page boxes, layers,
and the two test squares of page 1, measured in the PDF to 0.05 mm."""
import json, os, sys
import fitz

MM = 25.4 / 72
TOL = 0.05
# ISO 216 and ANSI/ASME Y14.1 sizes; "A4+Letter" is the smaller of both each way.
BOX = {"A4": (210, 297), "Letter": (215.9, 279.4), "A4+Letter": (210, 279.4), "A0": (841, 1189)}

def squares(page):
    """Sides of all axis-parallel squares stroked on a page, mm."""
    found = set()
    for d in page.get_drawings():
        r = d["rect"]
        w, h = r.width * MM, r.height * MM
        if abs(w - h) < TOL and d["type"] != "f":
            found.add(round(w, 3))
    return found

def main(folder):
    run = json.load(open(os.path.join(folder, "run.json")))
    report = json.load(open(os.path.join(folder, "report.json")))
    assert run["state"] == "done", run["state"]
    assert report["fail"] == 0 and report["pass"] > 100, (report["pass"], report["fail"])
    pdfs = [f for f in run["files"] if f["name"].endswith(".pdf")]
    assert len(pdfs) >= 3, pdfs
    for f in pdfs:
        path = os.path.join(folder, f["name"])
        assert os.path.getsize(path) == f["bytes"], path
        doc = fitz.open(path)
        assert doc.page_count == f["pages"], (path, doc.page_count, f["pages"])
        w, h = sorted(BOX[f["paper"]])
        for page in doc:
            a, b = sorted((page.rect.width * MM, page.rect.height * MM))
            assert abs(a - w) < TOL and abs(b - h) < TOL, (path, page.number, a, b)
        if "-companion-" in f["name"]:
            text = "".join(page.get_text() for page in doc)
            for words in ("Order of sewing", "Cutting list", "Working drawing", "test squares"):
                assert words in text, (path, words)
            print(f"{f['name']}: {doc.page_count} pages, order of sewing and working drawing in words")
            continue
        layers = {o["name"] for o in doc.get_ocgs().values()}
        assert set(report["sizes"]) <= layers, (path, layers)
        first = doc[0]
        sides = squares(first)
        for want in (50.0, 50.8):
            assert any(abs(s - want) <= TOL for s in sides), (path, want, sorted(sides))
        print(f"{f['name']}: {doc.page_count} pages of {w:g} x {h:g} mm, layers {len(layers)}, test squares true")
    print(f"{len(pdfs)} passed, 0 failed")

main(sys.argv[1])
