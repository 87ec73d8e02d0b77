"""Reads the tags of a drawing's PDF with pikepdf: a figure with words in its stead a drawing, headings, findings as a list, the title block as a
table, and the laying table as one with a head for each column and each row.

    read_pdf.py DRAWING.pdf FINDINGS [RUNS]

RUNS is how many runs its laying table has, on a page by itself; none where that is not given.
"""

import sys

import pikepdf

found = []


def walk(node):
    if isinstance(node, pikepdf.Array):
        for kid in node:
            walk(kid)
    elif isinstance(node, pikepdf.Dictionary) and "/S" in node:
        found.append((str(node.S), str(node.get("/Alt", ""))))
        if "/K" in node:
            walk(node.K)


with pikepdf.open(sys.argv[1]) as drawing:
    walk(drawing.Root.StructTreeRoot.K)
    pages = len(drawing.pages)
    assert drawing.Root.MarkInfo.Marked and str(drawing.Root.Lang) == "en"
tags = [tag for tag, _ in found]
figures = [words for tag, words in found if tag == "/Figure"]
runs = int(sys.argv[3]) if len(sys.argv) > 3 else 0
drawings = pages - (1 if runs else 0)
assert len(figures) == drawings and all("." in words for words in figures), figures
assert tags.count("/LI") == int(sys.argv[2]) and tags.count("/LBody") == tags.count("/LI"), tags
assert tags.count("/Table") >= pages and tags.count("/TH") >= tags.count("/Table") and tags.count("/H1") > 3, tags
if runs:
    # Rows of a run: a head, and its heading, its length and the cable laid at its end.
    rows = " ".join(tags).split("/TR")
    of_run = [row.split()[:4] for row in rows[1:]].count(["/TH", "/TD", "/TD", "/TD"])
    assert of_run == runs, (of_run, runs)
    assert ["/TH"] * 4 in [row.split()[:4] for row in rows[1:]]
print(f"pdf: {pages} pages, {len(tags)} tags")
