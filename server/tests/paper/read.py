"""Reads files of PDF back with pikepdf (the library qpdf underneath), which knows nothing of how they were made.

Usage: read.py FILE...; prints one JSON object, what was found in each file by its name.
"""

import json
import sys
from decimal import Decimal

import pikepdf

MM = 25.4 / 72

NAMES = {
    "pdfaid:part": "{http://www.aiim.org/pdfa/ns/id/}part",
    "pdfaid:conformance": "{http://www.aiim.org/pdfa/ns/id/}conformance",
    "pdfuaid:part": "{http://www.aiim.org/pdfua/ns/id/}part",
    "dc:title": "dc:title",
}


def fonts(pdf):
    """Each font with whether its program is in the file and whether its letters can be read back."""
    found = []
    for thing in pdf.objects:
        if isinstance(thing, pikepdf.Dictionary) and thing.get("/Type") == "/Font" and "/DescendantFonts" in thing:
            down = thing.DescendantFonts[0].FontDescriptor
            embedded = any(key in down for key in ("/FontFile", "/FontFile2", "/FontFile3"))
            found.append({"name": str(thing.BaseFont), "embedded": embedded, "unicode": "/ToUnicode" in thing})
        elif isinstance(thing, pikepdf.Dictionary) and thing.get("/Type") == "/Font" and thing.get("/Subtype") in (
            "/Type1",
            "/TrueType",
            "/Type3",
        ):
            found.append({"name": str(thing.get("/BaseFont", "")), "embedded": False, "unicode": False})
    return found


def structure(pdf):
    """The tags in order of reading, and the words that stand for each figure."""
    tags, figures = [], []

    def walk(element):
        if isinstance(element, pikepdf.Array):
            for one in element:
                walk(one)
        elif isinstance(element, pikepdf.Dictionary):
            if "/S" in element:
                tags.append(str(element.S)[1:])
                if element.S == "/Figure":
                    figures.append(str(element.get("/Alt", "")))
            if "/K" in element:
                walk(element.K)

    walk(pdf.Root.StructTreeRoot.get("/K", pikepdf.Array()))
    return tags, figures


def times(a, b):
    """First a, then b."""
    return (
        a[0] * b[0] + a[1] * b[2],
        a[0] * b[1] + a[1] * b[3],
        a[2] * b[0] + a[3] * b[2],
        a[2] * b[1] + a[3] * b[3],
        a[4] * b[0] + a[5] * b[2] + b[4],
        a[4] * b[1] + a[5] * b[3] + b[5],
    )


def lines(page):
    """Every straight piece of a path, in millimetres of paper from the lower left corner: x1, y1, x2, y2."""
    found = []

    def run(stream, resources, matrix):
        kept, at, start = [], (0.0, 0.0), (0.0, 0.0)

        def place(x, y):
            return (
                (x * matrix[0] + y * matrix[2] + matrix[4]) * MM,
                (x * matrix[1] + y * matrix[3] + matrix[5]) * MM,
            )

        for operands, operator in pikepdf.parse_content_stream(stream):
            values = [float(one) for one in operands if isinstance(one, (int, float, Decimal))]
            name = str(operator)
            if name == "q":
                kept.append(matrix)
            elif name == "Q":
                matrix = kept.pop()
            elif name == "cm":
                matrix = times(values, matrix)
            elif name == "m":
                at = start = place(*values)
            elif name == "l":
                to = place(*values)
                found.append((*at, *to))
                at = to
            elif name == "h":
                found.append((*at, *start))
                at = start
            elif name == "re":
                x, y, w, h = values
                corners = [place(x, y), place(x + w, y), place(x + w, y + h), place(x, y + h)]
                found.extend((*a, *b) for a, b in zip(corners, corners[1:] + corners[:1]))
            elif name in ("c", "v", "y"):
                at = place(*values[-2:])
            elif name == "Do":
                inner = resources.XObject[operands[0]]
                if inner.Subtype == "/Form":
                    own = [float(one) for one in inner.get("/Matrix", [1, 0, 0, 1, 0, 0])]
                    run(inner, inner.get("/Resources", resources), times(own, matrix))

    run(page, page.Resources, (1, 0, 0, 1, 0, 0))
    return found


def read(file):
    pdf = pikepdf.open(file)
    root = pdf.Root
    tags, figures = structure(pdf)
    with pdf.open_metadata() as meta:
        said = {name: str(meta.get(key, "")) for name, key in NAMES.items()}
    with pdf.open_outline() as outline:
        titles = [item.title for item in outline.root]
        titles += [child.title for item in outline.root for child in item.children]
    active = [key for key in ("/OpenAction", "/AA", "/AcroForm") if key in root]
    names = root.get("/Names", {})
    active += [key for key in ("/JavaScript", "/EmbeddedFiles") if key in names]
    links = []
    for page in pdf.pages:
        for note in page.get("/Annots", []):
            action = note.get("/A", {})
            links.append(str(action.get("/URI", action.get("/S", "inside"))))
    return {
        "problems": [str(one) for one in pdf.check()] if hasattr(pdf, "check") else pdf.check_pdf_syntax(),
        "pages": [[float(one) for one in page.mediabox] for page in pdf.pages],
        "boxes": [[float(one) for one in page.cropbox] for page in pdf.pages],
        "language": str(root.get("/Lang", "")),
        "marked": bool(root.MarkInfo.Marked),
        "shows_title": bool(root.ViewerPreferences.DisplayDocTitle),
        "made": str(pdf.docinfo.get("/CreationDate", "")),
        "fonts": fonts(pdf),
        "tags": tags,
        "figures": figures,
        "standards": said,
        "outline": titles,
        "active": active,
        "links": links,
        "output_intents": len(root.get("/OutputIntents", [])),
        "lines": [lines(page) for page in pdf.pages],
    }


print(json.dumps({file: read(file) for file in sys.argv[1:]}))
