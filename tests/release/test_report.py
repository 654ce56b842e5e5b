"""The report page: whole in one file, its links lead somewhere, and a browser draws it without complaint."""

import re
import shutil
import subprocess
from html.parser import HTMLParser
from pathlib import Path

import pytest

from baywright.design import design_job
from baywright.job.read import read_job
from baywright.release.drawing.lines import sharp_edges
from baywright.release.report.page import write_report
from baywright.review import review_job
from baywright.rooms import room

BROWSER = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
needs_browser = pytest.mark.skipif(BROWSER is None, reason="no chromium on this machine")
QUIET = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--enable-unsafe-swiftshader",
    "--use-angle=swiftshader",
    "--hide-scrollbars",
    "--enable-logging=stderr",
    "--virtual-time-budget=5000",
    "--window-size=1200,1400",
]


@pytest.fixture(scope="module")
def page(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("release")
    (folder / "front" / "cut").mkdir(parents=True)
    (folder / "front" / "cut" / "a file.dxf").write_text("0")
    reviewed = review_job(design_job(read_job(room("shared") / "jobs" / "estate.toml")))
    return write_report(reviewed, folder)


class Links(HTMLParser):
    """Collects addresses, ids, and how tags open and close."""

    void = frozenset(("meta", "link", "br", "img", "input"))

    def __init__(self) -> None:
        super().__init__()
        self.addresses: list[str] = []
        self.ids: list[str] = []
        self.open: list[str] = []
        self.wrong: list[str] = []
        self.unnamed = 0

    def handle_starttag(self, tag, attrs):
        found = dict(attrs)
        self.addresses += [found[key] for key in ("href", "src") if found.get(key)]
        self.ids += [found["id"]] if "id" in found else []
        if tag == "svg" and found.get("aria-hidden") != "true" and not found.get("aria-label"):
            self.unnamed += 1
        if tag not in self.void:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in self.void:
            self.open.pop()

    def handle_endtag(self, tag):
        while self.open and self.open[-1] != tag and self.open[-1] in ("option", "li", "p"):
            self.open.pop()
        if not self.open or self.open.pop() != tag:
            self.wrong.append(tag)


@pytest.fixture(scope="module")
def links(page) -> Links:
    found = Links()
    found.feed(page.read_text(encoding="utf-8"))
    return found


def test_the_page_is_small_and_needs_no_network(page, links):
    text = page.read_text(encoding="utf-8")
    assert page.stat().st_size < 5_000_000
    assert not [a for a in links.addresses if re.match(r"(https?:)?//", a)]
    assert "@import" not in text
    assert "url(" not in text


def test_every_link_leads_somewhere(page, links):
    for address in links.addresses:
        if address.startswith("#"):
            assert address[1:] in links.ids, address
        elif not address.startswith("data:"):
            assert (page.parent / address.replace("%20", " ")).is_file(), address
    assert "front/cut/a%20file.dxf" in links.addresses


def test_the_page_is_well_formed_and_every_picture_has_words(links):
    assert not links.wrong
    assert not links.open
    assert len(set(links.ids)) == len(links.ids)
    assert not links.unnamed


def test_it_says_what_was_found_worst_first(page):
    text = page.read_text(encoding="utf-8")
    assert text.index('class="mark look">look</span> <b>') < text.index('class="mark pass">holds</span> <b>')
    assert text.count("show the place") > 50
    for words in ("licensed engineer", "Before", "m590", "box front", "box rear", "5754-H22"):
        assert words.lower() in text.lower()


def test_the_page_is_the_same_every_time(page, tmp_path):
    reviewed = review_job(design_job(read_job(room("shared") / "jobs" / "estate.toml")))
    (tmp_path / "front" / "cut").mkdir(parents=True)
    (tmp_path / "front" / "cut" / "a file.dxf").write_text("0")
    assert write_report(reviewed, tmp_path).read_bytes() == page.read_bytes()


def test_pictures_of_the_release_are_in_the_page_itself(tmp_path):
    from PIL import Image

    for name in ("car/balance.png", "five-speed/depth-stack.png"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        Image.new("RGB", (8, 6), "white").save(tmp_path / name)
    (tmp_path / "nest").mkdir()
    (tmp_path / "nest" / "6082-T6_25.0mm_sheet1_revA.svg").write_text('<svg xmlns="http://www.w3.org/2000/svg"/>')
    reviewed = review_job(design_job(read_job(room("shared") / "jobs" / "adapter-five-speed.toml")))
    text = write_report(reviewed, tmp_path).read_text(encoding="utf-8")
    found = Links()
    found.feed(text)
    assert not found.wrong
    assert sum(address.startswith("data:image/") for address in found.addresses) == 3
    for words in (
        "Depth stack: what lies where",
        "adapter-five-speed",
        "run-out at the input shaft",
        "gap before the nose",
    ):
        assert words in text
    # Its plates are milled: the job's own cutter, a laser, has no say in them.
    assert text.count("cutter profile mill-general") == 3
    assert "to mend" not in text
    # Every picture says what it shows to those who can't see it, and links to its file.
    assert text.count("<img ") == text.count('alt="') == 4
    assert "five-speed/depth-stack.png" in found.addresses


def test_a_block_has_twelve_edges():
    import trimesh

    block = trimesh.creation.box((10, 20, 30)).subdivide()
    edges = sharp_edges(block.vertices, block.faces)
    lengths = sum(abs(block.vertices[a] - block.vertices[b]).sum() for a, b in edges)
    assert lengths == pytest.approx(4 * (10 + 20 + 30))


def browse(tmp_path: Path, page: Path, *wanted: str) -> tuple[str, str]:
    """Return what the browser printed and complained about."""
    done = subprocess.run(
        [BROWSER, *QUIET, f"--user-data-dir={tmp_path / 'profile'}", *wanted, page.as_uri()],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    return done.stdout, done.stderr


def complaints(log: str) -> list[str]:
    """Return what the page's own script wrote to the console; a software renderer's remarks on speed are none."""
    return [line for line in log.splitlines() if "CONSOLE" in line and "GL Driver Message" not in line]


@needs_browser
def test_a_browser_draws_the_boxes(page, tmp_path):
    import numpy as np
    from PIL import Image

    shot = tmp_path / "shot.png"
    _, log = browse(tmp_path, page, f"--screenshot={shot}")
    assert not complaints(log)
    seen = np.asarray(Image.open(shot).convert("RGB")).astype(int)
    # Lids are the only things on the page so blue, feet the only ones so brown: both stand in space.
    red, green, blue = seen[..., 0], seen[..., 1], seen[..., 2]
    assert ((blue - red > 45) & (blue > 150)).sum() > 2000
    assert ((red - blue > 40) & (red < 190) & (green < red - 20)).sum() > 200


@needs_browser
def test_findings_keys_and_cuts_work(page, tmp_path):
    script = """
      const said = document.getElementById("said"), canvas = document.getElementById("view"), out = [];
      const pixels = () => {
        window.dispatchEvent(new Event("beforeprint"));
        return document.getElementById("printed").src;
      };
      const first = pixels();
      canvas.dispatchEvent(new KeyboardEvent("keydown", { key: "ArrowLeft", bubbles: true }));
      out.push(pixels() !== first ? "turned" : "still");
      document.querySelector(".where").click();
      out.push(said.textContent.length > 10 ? "said" : "silent");
      const axis = document.getElementById("cutaxis"), before = pixels();
      axis.value = "2"; axis.dispatchEvent(new Event("change"));
      out.push(pixels() !== before ? "cut" : "whole");
      const piece = document.getElementById("piece");
      out.push(piece.options.length > 100 ? "pieces" : "none");
      document.querySelectorAll(".where").forEach((button) => button.click());
      piece.selectedIndex = 5; piece.dispatchEvent(new Event("change"));
      out.push(said.textContent.length > 10 ? "found" : "lost");
      const apart = document.getElementById("apart"), together = pixels();
      apart.value = "60"; apart.dispatchEvent(new Event("input"));
      out.push(pixels() !== together ? "apart" : "together");
      document.querySelector('[data-layer="lid"]').click();
      out.push(pixels() !== before ? "lidless" : "lidded");
      document.documentElement.dataset.tried = out.join(" ");
    """
    copy = page.with_name("tried.html")
    copy.write_text(page.read_text(encoding="utf-8").replace("</body>", f"<script>{script}</script></body>"))
    dom, log = browse(tmp_path, copy, "--dump-dom")
    copy.unlink()
    assert not complaints(log)
    assert 'data-tried="turned said cut pieces found apart lidless"' in dom
    assert 'data-drawn="yes"' in dom
