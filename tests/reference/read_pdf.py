"""Reads the tags of a drawing's PDF with pikepdf: a figure with words in its stead a page, headings, findings as a list, the title block as a table.

    read_pdf.py DRAWING.pdf FINDINGS
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
assert len(figures) == pages and all("." in words for words in figures), figures
assert tags.count("/LI") == int(sys.argv[2]) and tags.count("/LBody") == tags.count("/LI"), tags
assert tags.count("/Table") >= pages and tags.count("/TH") >= tags.count("/Table") and tags.count("/H1") > 3, tags
print(f"pdf: {pages} pages, {len(tags)} tags")
