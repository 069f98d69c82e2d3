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


def elements(pdf):
    """Every element of the structure tree, parents first."""
    found = []

    def walk(element):
        if isinstance(element, pikepdf.Array):
            for one in element:
                walk(one)
        elif isinstance(element, pikepdf.Dictionary):
            if "/S" in element:
                found.append(element)
            if "/K" in element:
                walk(element.K)

    walk(pdf.Root.get("/StructTreeRoot", {}).get("/K", pikepdf.Array()))
    return found


def attributes(element):
    """The attributes of an element, whoever owns them, in one."""
    own = element.get("/A", pikepdf.Array())
    merged = {}
    for one in own if isinstance(own, pikepdf.Array) else [own]:
        if isinstance(one, pikepdf.Dictionary):
            merged.update({key: one[key] for key in one.keys()})
    return merged


def inside(element, kind):
    """Elements of a kind within another."""
    found = []

    def walk(one):
        if isinstance(one, pikepdf.Array):
            for each in one:
                walk(each)
        elif isinstance(one, pikepdf.Dictionary) and "/K" in one:
            for each in one.K if isinstance(one.K, pikepdf.Array) else [one.K]:
                if isinstance(each, pikepdf.Dictionary) and each.get("/S") == kind:
                    found.append(each)
                walk(each)

    walk(element)
    return found


def is_bare(element):
    """Whether an element holds nothing."""
    within = element.get("/K", pikepdf.Array())
    return isinstance(within, pikepdf.Array) and len(within) == 0


def faults(pdf):
    """What does not hold. Clauses of ISO 19005-2 (A) and ISO 14289-1 (UA), from memory."""
    found, root = [], pdf.Root
    intents = root.get("/OutputIntents", [])
    if not any("/DestOutputProfile" in one for one in intents):
        found.append("A 6.2.3: no output intent with a profile")
    if "/Metadata" not in root:
        found.append("A 6.6.2: no metadata")
    if "/Lang" not in root:
        found.append("UA 7.2: no language")
    if not bool(root.get("/MarkInfo", {}).get("/Marked", False)):
        found.append("UA 7.1: not marked")
    if not bool(root.get("/ViewerPreferences", {}).get("/DisplayDocTitle", False)):
        found.append("UA 7.1: the title is not shown")
    if "/ID" not in pdf.trailer:
        found.append("A 6.1.3: no identifier")
    if "/StructTreeRoot" not in root:
        found.append("UA 7.1: no structure")
    for thing in pdf.objects:
        if isinstance(thing, pikepdf.Dictionary) and thing.get("/S") in ("/JavaScript", "/Launch", "/SubmitForm"):
            found.append(f"A 6.5.1: an action {thing.S}")
        if isinstance(thing, pikepdf.Dictionary) and "/AA" in thing:
            found.append("A 6.5.2: additional actions")
        if isinstance(thing, pikepdf.Dictionary) and thing.get("/Type") == "/Filespec" and "/EF" in thing:
            found.append("A 6.8: an embedded file")
    for font in fonts(pdf):
        if not font["embedded"] or not font["unicode"]:
            found.append(f"A 6.2.11: font {font['name']}")
    for element in elements(pdf):
        kind, own = str(element.S)[1:], attributes(element)
        if kind == "Figure" and not str(element.get("/Alt", "")):
            found.append("UA 7.3: a figure without words")
        if kind == "Figure" and "/BBox" not in own:
            found.append("PDF 14.8.5.4.3: a figure without its box")
        if kind == "TH" and "/Scope" not in own:
            found.append("UA 7.5: a head cell without scope")
        if kind == "Table" and not inside(element, "/TH"):
            found.append("UA 7.5: a table without head cells")
        if kind == "TH" and is_bare(element):
            found.append("UA 7.5: an empty head cell")
        if kind == "Lbl" and is_bare(element):
            found.append("UA 7.6: an empty label")
        if kind == "Link" and "/K" not in element:
            found.append("UA 7.18.5: a link without words")
    for page in pdf.pages:
        if page.get("/Tabs") != "/S" and "/Annots" in page:
            found.append("UA 7.18.3: the order of tabs is not that of the structure")
        for note in page.get("/Annots", []):
            if note.get("/Subtype") == "/Link" and not str(note.get("/Contents", "")):
                found.append("UA 7.18.5: a link that says nothing")
    return found


def broken(file):
    """Copies of a file, each broken on purpose, with what must be found in it."""

    def each(element_kind, change):
        def act(pdf):
            for element in elements(pdf):
                if element.S == element_kind:
                    change(element)

        return act

    def without(key):
        def act(thing):
            if key in thing:
                del thing[key]

        return act

    def root(key):
        return lambda pdf: without(key)(pdf.Root)

    def script(pdf):
        pdf.Root.OpenAction = pdf.make_indirect(pikepdf.Dictionary(S=pikepdf.Name.JavaScript, JS="1"))

    def extra(pdf):
        pdf.Root.Pages.AA = pikepdf.Dictionary()

    def fonts_out(pdf):
        for thing in pdf.objects:
            if isinstance(thing, pikepdf.Dictionary) and thing.get("/Type") == "/FontDescriptor":
                for key in ("/FontFile", "/FontFile2", "/FontFile3"):
                    without(key)(thing)

    def td_for_th(pdf):
        for element in elements(pdf):
            if element.S == "/TH":
                element.S = pikepdf.Name.TD

    def embedded(pdf):
        pdf.make_indirect(pikepdf.Dictionary(Type=pikepdf.Name.Filespec, EF=pikepdf.Dictionary()))

    def unidentified(pdf):
        del pdf.trailer["/ID"]

    def dumb_link(pdf):
        pdf.pages[0].Annots = pikepdf.Array([pikepdf.Dictionary(Subtype=pikepdf.Name.Link)])

    def tabs_by_rows(pdf):
        dumb_link(pdf)
        pdf.pages[0].Tabs = pikepdf.Name.R

    def wordless_link(pdf):
        elements(pdf)[0].K.append(pikepdf.Dictionary(S=pikepdf.Name.Link))

    ways = {
        "A 6.1.3": unidentified,
        "A 6.8": embedded,
        "UA 7.18.3": tabs_by_rows,
        "UA 7.18.5: a link that": dumb_link,
        "UA 7.18.5: a link without": wordless_link,
        "UA 7.5: an empty": each("/TH", without("/K")),
        "UA 7.6": each("/Lbl", without("/K")),
        "A 6.2.3": root("/OutputIntents"),
        "A 6.6.2": root("/Metadata"),
        "UA 7.2": root("/Lang"),
        "UA 7.1: not marked": root("/MarkInfo"),
        "UA 7.1: the title": root("/ViewerPreferences"),
        "UA 7.1: no structure": root("/StructTreeRoot"),
        "A 6.5.1": script,
        "A 6.5.2": extra,
        "A 6.2.11": fonts_out,
        "UA 7.3": each("/Figure", without("/Alt")),
        "PDF 14.8.5.4.3": each("/Figure", without("/A")),
        "UA 7.5: a head cell": each("/TH", without("/A")),
        "UA 7.5: a table": td_for_th,
    }
    unseen = []
    for wanted, change in ways.items():
        pdf = pikepdf.open(file)
        change(pdf)
        if not any(one.startswith(wanted) for one in faults(pdf)):
            unseen.append(wanted)
    return unseen


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
        "faults": faults(pdf),
    }


if sys.argv[1] == "--broken":
    print(json.dumps(broken(sys.argv[2])))
    sys.exit()
print(json.dumps({file: read(file) for file in sys.argv[1:]}))
