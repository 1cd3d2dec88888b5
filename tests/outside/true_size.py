"""Measures the sheets of `hubtrace fabricate` as they print: every page of every PDF, and build-sheet.html printed by a browser.

    pip install pymupdf==2.0
    hubtrace fabricate rear.toml --out sheets
    python3 tests/outside/true_size.py sheets

Every page must have a line of 100.0 +- 0.05 mm, the pages of one PDF one size, and the crosses of the floor plan must be where
points.csv has its points, and every target its rings. The browser is `chromium` of the path; without it the HTML is left out.
"""

import csv
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import pymupdf

MM_PER_PT = 25.4 / 72.0
BAR_MM = 100.0
TOLERANCE_MM = 0.05
PAPERS_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}


def lines(page):
    """Every straight stroke of a page: its two ends in mm from the upper left corner."""
    for drawing in page.get_drawings():
        for item in drawing["items"]:
            if item[0] == "l":
                yield [(point.x * MM_PER_PT, point.y * MM_PER_PT) for point in item[1:3]]


def length(line):
    (ax, ay), (bx, by) = line
    return ((ax - bx) ** 2 + (ay - by) ** 2) ** 0.5


def bar_of(page):
    """The length that is nearest to that of the scale bar."""
    return min((length(line) for line in lines(page)), key=lambda mm: abs(mm - BAR_MM), default=0.0)


def check_pages(path):
    document = pymupdf.open(path)
    sizes = {tuple(round(mm * MM_PER_PT, 1) for mm in (page.rect.width, page.rect.height)) for page in document}
    assert len(sizes) == 1 and sizes <= set(PAPERS_MM.values()), (path, sizes)
    for page in document:
        bar = bar_of(page)
        assert abs(bar - BAR_MM) <= TOLERANCE_MM, (path, page.number + 1, bar)
        assert f"sheet {page.number + 1} of {len(document)}" in page.get_text(), (path, page.number + 1)
    return document


def crosses(page):
    """Middles of level strokes of 12 mm that a plumb one of 12 mm crosses."""
    level = [line for line in lines(page) if abs(line[0][1] - line[1][1]) < 1e-3 and abs(length(line) - 12.0) < 0.01]
    return [((a[0] + b[0]) / 2, a[1]) for a, b in level]


def check_plan(folder):
    """Distances between crosses on one sheet are those between the points, true to the line."""
    points = [
        (-float(row["y_mm"]), -float(row["x_mm"]))
        for row in csv.DictReader((folder / "points.csv").open(encoding="utf-8"))
    ]
    distances = {
        round(((ax - bx) ** 2 + (ay - by) ** 2) ** 0.5, 1) for k, (ax, ay) in enumerate(points) for bx, by in points[:k]
    }
    seen = 0
    for page in pymupdf.open(folder / "floor-plan.pdf"):
        found = crosses(page)
        for k, (ax, ay) in enumerate(found):
            for bx, by in found[:k]:
                apart = ((ax - bx) ** 2 + (ay - by) ** 2) ** 0.5
                near = min(abs(apart - distance) for distance in distances)
                assert near <= 0.05 + TOLERANCE_MM, (page.number + 1, apart)
                seen += 1
    assert seen >= 5, seen
    return seen


def rings(page):
    """Centre and diameter of every circle of a page, mm."""
    for drawing in page.get_drawings():
        if drawing["items"] and all(item[0] == "c" for item in drawing["items"]):
            box = drawing["rect"]
            centre = ((box.x0 + box.x1) / 2 * MM_PER_PT, (box.y0 + box.y1) / 2 * MM_PER_PT)
            yield centre, box.width * MM_PER_PT, box.height * MM_PER_PT


def check_targets(folder):
    """Every target has rings of 10, 20 and 30 mm about the middle of its cross of 36 mm."""
    rows = csv.DictReader((folder / "tape-check.csv").open(encoding="utf-8"))
    names = [name for row in rows for name in (row["point"], row["to"])]
    seen = 0
    for page in pymupdf.open(folder / "targets.pdf"):
        found = list(rings(page))
        hairs = [line for line in lines(page) if abs(length(line) - 36.0) <= TOLERANCE_MM]
        middles = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in hairs]
        assert len(found) == 3 * len(hairs) / 2, (page.number + 1, len(found), len(hairs))
        for k, (centre, width, height) in enumerate(found):
            expected = (10.0, 20.0, 30.0)[k % 3]
            assert max(abs(width - expected), abs(height - expected)) <= TOLERANCE_MM, (page.number + 1, width, height)
            near = [middle for middle in middles if length((centre, middle)) <= TOLERANCE_MM]
            assert len(near) == 2, (page.number + 1, centre)
        seen += len(found) // 3
    assert seen >= len(set(names)), (seen, len(set(names)))
    return seen


def printed(html, paper):
    """The PDF that a browser prints from a page on this paper."""
    width, height = PAPERS_MM[paper]
    text = html.read_text(encoding="utf-8").replace("@page {", f"@page {{ size: {width}mm {height}mm;", 1)
    scratch = Path(tempfile.mkdtemp())
    (scratch / "sheet.html").write_text(text, encoding="utf-8")
    command = ["chromium", "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={scratch / 'profile'}"]
    command += ["--no-pdf-header-footer", f"--print-to-pdf={scratch / 'out.pdf'}", (scratch / "sheet.html").as_uri()]
    subprocess.run(command, check=True, stderr=subprocess.DEVNULL, stdout=subprocess.DEVNULL)
    return pymupdf.open(scratch / "out.pdf")


def check_html(folder, paper):
    html = folder / "build-sheet.html"
    document = printed(html, paper)
    sections = html.read_text(encoding="utf-8").count("<section>")
    assert len(document) == sections, (paper, len(document), sections)
    bars = [bar_of(page) for page in document]
    assert any(abs(bar - BAR_MM) <= TOLERANCE_MM for bar in bars), (paper, bars)
    for page in document:
        text = page.get_text()
        assert f"sheet {page.number + 1} of {sections}" in text, (paper, page.number + 1)
        foot = max(block[3] for block in page.get_text("blocks"))
        assert foot <= page.rect.height, (paper, page.number + 1)
    return sections


def main(folder):
    for path in sorted(folder.glob("*.pdf")):
        document = check_pages(path)
        print(f"{path.name}: {len(document)} pages, bar {bar_of(document[0]):.3f} mm")
    print(f"floor plan: {check_plan(folder)} distances between crosses")
    print(f"targets: {check_targets(folder)}")
    if not shutil.which("chromium"):
        print("build-sheet.html: not printed, there is no chromium")
    elif (folder / "build-sheet.html").exists():
        for paper in PAPERS_MM:
            print(f"build-sheet.html on {paper}: {check_html(folder, paper)} pages")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "hubtrace-out"))
