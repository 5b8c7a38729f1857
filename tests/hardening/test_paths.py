"""Paths with odd characters, links and devices."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from analyzer.model.errors import OutputError
from analyzer.reports import write_file, write_folder
from tests.hardening.conftest import PLAN, RECORDING

ODD = {
    "spaces": b" a  b .vtt",
    "line feed": b"a\nb.vtt",
    "escape": b"\x1b[31mred\xc2\x85.vtt",
    "not UTF-8": b"t\xff\xfe\xe9.vtt",
    "leading dash": b"./-plan.vtt",
    "markup": b"<img src=x onerror=alert(1)>&amp;.vtt",
    "format": b"%s%n{0}$HOME`id`.vtt",
    "turned round": "a\u202egpj.vtt".encode(),
    "formula": b"=1+1.vtt",
    "wide": "\u4f53\u64cd\U0001f3cb.vtt".encode(),
    "quotes": b"\"'\\.vtt",
    "longest": b"a" * 251 + b".vtt",
}


@pytest.mark.parametrize("name", ODD.values(), ids=ODD)
def test_odd_names(run, tmp_path, monkeypatch, name):
    recording = os.fsdecode(name)
    plan = f"{recording}.yaml" if len(name) < 200 else "p.yaml"
    monkeypatch.chdir(tmp_path)
    Path(recording).write_bytes(RECORDING.read_bytes())
    Path(plan).write_bytes(PLAN.read_bytes())
    out = Path(f"out {recording[:100]}".replace("/", ""))
    code, shown, err = run("audit", recording, "--plan", plan, "--out", out, "--only", "json,html,csv,fixes")
    assert (code, err) == (1, [])
    assert "\x1b" not in shown
    assert json.loads((out / "report.json").read_bytes())["recording"]["file"].endswith(".vtt")
    assert "<img src=x" not in (out / "report.html").read_bytes().decode()


@pytest.mark.parametrize("option", ["--out", "--json"])
def test_a_name_that_is_too_long(run, tmp_path, option):
    code, _, err = run("audit", RECORDING, "--plan", PLAN, option, tmp_path / ("a" * 300))
    assert (code, len(err)) == (2, 1)
    assert err[0].endswith(": has too long a name; choose a shorter one")


@pytest.mark.parametrize("place", range(5))
def test_links_that_run_in_a_circle(run, tmp_path, place):
    loop = tmp_path / "a"
    loop.symlink_to(tmp_path / "b")
    (tmp_path / "b").symlink_to(loop)
    rules = tmp_path / "rules.yaml"
    rules.write_text("name: ours\n")
    recording, plan, rules, out, stored = [
        loop if place == at else path
        for at, path in enumerate((RECORDING, PLAN, rules, tmp_path / "out", tmp_path / "r.json"))
    ]
    code, _, err = run("audit", recording, "--plan", plan, "--rules", rules, "--out", out, "--json", stored)
    assert (code, len(err)) == (2, 1), err
    assert sorted(os.listdir(tmp_path)) == ["a", "b", "rules.yaml"]


@pytest.mark.parametrize("exists", [True, False])
def test_a_link_where_a_file_goes_is_neither_followed_nor_replaced(tmp_path, exists):
    precious, out = tmp_path / "precious", tmp_path / "out"
    if exists:
        precious.write_bytes(b"mine")
    out.mkdir()
    (out / "b.json").symlink_to(precious)
    told = r"b\.json: is a link or a device, no ordinary file; choose another name"
    with pytest.raises(OutputError, match=told):
        write_folder(out, {"a.json": b"new", "b.json": b"new"})
    with pytest.raises(OutputError, match=told):
        write_file(out / "b.json", b"new")
    assert os.listdir(out) == ["b.json"]
    assert (out / "b.json").is_symlink()
    assert precious.exists() == exists
    assert not exists or precious.read_bytes() == b"mine"


def test_a_link_to_the_folder_is_followed(tmp_path):
    (tmp_path / "real").mkdir()
    (tmp_path / "link").symlink_to(tmp_path / "real")
    write_folder(tmp_path / "link", {"a.json": b"new"})
    assert (tmp_path / "real" / "a.json").read_bytes() == b"new"


def test_a_pipe_where_a_file_goes_stays_one(tmp_path):
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with pytest.raises(OutputError, match="no ordinary file"):
        write_file(pipe, b"new")
    assert pipe.is_fifo()


def test_a_link_beside_the_plan_for_its_waivers(run, tmp_path):
    plan = tmp_path / "class.yaml"
    plan.write_bytes(PLAN.read_bytes())
    (tmp_path / "class.waivers.yaml").symlink_to(tmp_path / "precious")
    (tmp_path / "precious").write_text("waivers:\n")
    code, _, err = run("waive", "9cd44b2cb0c9", "--plan", plan, "--reason", "stays")
    assert (code, len(err)) == (2, 1)
    assert "no ordinary file" in err[0]
    assert (tmp_path / "precious").read_text() == "waivers:\n"
