"""The page of a season holds words of logs as words alone, loads nothing, and is built so that everybody can use it."""

import base64
import hashlib
import json
import re
from html.parser import HTMLParser
from itertools import pairwise

import pytest

from tests.season.made import day, season
from traverse.season.index_season import index_season

VOID = {"meta", "input", "br", "path", "circle"}
HOSTILE = "</script><script>alert(1)</script><!-- <img src=x onerror=alert(2)> \"' & <b>"


class Tree(HTMLParser):
    """Elements in order, each with its attributes, its text and the open elements it stands in."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.found, self.open = [], []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        one = {"tag": tag, "text": "", "in": [each["tag"] for each in self.open], **dict(attrs)}
        self.found.append(one)
        if tag not in VOID:
            self.open.append(one)

    def handle_startendtag(self, tag, attrs):
        self.found.append({"tag": tag, "text": "", "in": [each["tag"] for each in self.open], **dict(attrs)})

    def handle_endtag(self, tag):
        assert self.open, f"</{tag}> ends nothing"
        assert self.open[-1]["tag"] == tag, f"</{tag}> ends <{self.open[-1]['tag']}>"
        self.open.pop()

    def handle_data(self, data):
        for one in self.open:
            one["text"] += data

    def all(self, tag):
        return [one for one in self.found if one["tag"] == tag]


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A page of eight logs, one of which says all it can to break out; with its text and its tree."""
    folder = tmp_path_factory.mktemp('se<ason & "logs"')
    season(folder, 8)
    text = day(8, title=HOSTILE)
    text = text.replace("loose blocks above the path", HOSTILE).replace("shell band", HOSTILE)
    text = text.replace("Reed Shale", f"Reed {HOSTILE.replace(';', '')}").replace(
        "grey, thick-bedded", HOSTILE
    )
    text = text.replace("to 2 ", f"# {HOSTILE}\nto 2 ")
    lines = text.replace("party ", f"party XX {HOSTILE.replace(',', '')}, ", 1).splitlines()
    # A back bearing ten degrees off is asked about.
    leg = next(at for at, line in enumerate(lines) if line.startswith("to 2 "))
    back = (int(lines[leg].split()[2]) + 190) % 360
    lines[leg : leg + 1] = [f"{lines[leg]} back {back:03d}", f"  checked XX {HOSTILE}"]
    (folder / "bad '\"<b>.trav").write_text("\n".join(lines) + "\n", "utf-8")
    found = index_season(folder, processes=1)
    page = (folder / "season" / "season.html").read_text("utf-8")
    return found, page, Tree(page)


def test_every_element_ends_where_it_should(made):
    _, _, tree = made
    assert [one["tag"] for one in tree.open] == []
    ids = [one["id"] for one in tree.found if "id" in one]
    assert len(ids) == len(set(ids))


def test_no_word_of_a_log_becomes_markup(made):
    found, page, tree = made
    assert found.standing == {"counted": 9}
    assert HOSTILE not in page
    assert "alert(1)" in page
    assert len(tree.all("script")) == 3
    assert tree.all("img") == []
    assert not [one for one in tree.found if any(name.startswith("on") or name == "style" for name in one)]
    titles = [one["text"] for one in tree.all("button") if one.get("class") == "pick"]
    assert HOSTILE in titles
    (data,) = [one["text"] for one in tree.all("script") if one.get("id") == "season-days"]
    assert HOSTILE in [one["title"] for one in json.loads(data)]
    assert "<" not in data


def test_its_policy_lets_only_its_own_script_and_style_run(made):
    _, _, tree = made
    (policy,) = [
        one["content"] for one in tree.all("meta") if one.get("http-equiv") == "Content-Security-Policy"
    ]
    assert policy.startswith("default-src 'none'; ")
    assert "unsafe" not in policy
    (script,) = [one["text"] for one in tree.all("script") if "type" not in one]
    for text, kind in ((script, "script"), (tree.all("style")[0]["text"], "style")):
        digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
        assert f"{kind}-src 'sha256-{digest}'" in policy


def test_it_needs_no_network_and_leads_nowhere_else(made):
    _, page, tree = made
    assert re.findall(r"https?://|url\(|@import|//cdn", page) == []
    for one in tree.found:
        assert one["tag"] not in {"link", "object", "embed", "iframe"}
        where = one.get("href") or one.get("src")
        assert where is None or where.startswith(("#", "../", "sheets/"))


def test_headings_go_down_one_step_at_a_time_from_one_title(made):
    _, _, tree = made
    levels = [int(one["tag"][1]) for one in tree.found if re.fullmatch("h[1-6]", one["tag"])]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(later - earlier <= 1 for earlier, later in pairwise(levels))
    assert tree.all("html")[0]["lang"] == "en"
    assert tree.all("title")[0]["text"].strip()
    assert len(tree.all("main")) == 1


def test_tables_have_captions_and_heads_and_fields_have_names(made):
    _, _, tree = made
    assert len(tree.all("caption")) == len(tree.all("table")) >= 4
    for one in tree.all("th"):
        assert one["scope"] in {"row", "col"}
        assert one["text"].strip()
    for kind in ("input", "select"):
        assert all("label" in one["in"] for one in tree.all(kind))
    for one in (*tree.all("button"), *tree.all("a")):
        assert one["text"].strip()
    (canvas,) = tree.all("canvas")
    assert canvas["aria-label"]
    assert canvas["tabindex"] == "0"
    named = [one for one in tree.found if one["tag"] in {"section", "aside"} or one.get("role") == "region"]
    assert all(one.get("aria-label") or one.get("aria-labelledby") for one in named)
    ids = {one["id"] for one in tree.found if "id" in one}
    assert {one["aria-labelledby"] for one in named if "aria-labelledby" in one} <= ids
    assert {one["href"][1:] for one in tree.all("a") if one["href"].startswith("#")} <= ids


def test_cautions_stand_on_it_and_local_days_are_listed(made):
    _, _, tree = made
    text = " ".join(tree.all("main")[0]["text"].split())
    assert "Not a land survey" in text
    assert "Hazards noticed are not all there are" in text
    assert "shows only that it agrees with itself" in text
    assert "2 logs on a local grid" in text.replace("\xa0", " ")


def test_what_checked_answered_stands_on_it(made):
    found, _, tree = made
    answered = next(one for one in tree.all("section") if one.get("aria-labelledby") == "answered")
    assert "XX" in answered["text"]
    assert found.clashes >= 1
