import json
import shutil

import pytest

HOP = "ed47b600c369"  # easier-missing in the sample: its only high finding
NONE = "0000000000ff"


@pytest.fixture
def files(sample, tmp_path):
    """The sample's recording and plan, in a folder that may be written to."""
    return tuple(shutil.copy(path, tmp_path / path.name) for path in sample)


@pytest.fixture
def waive(run, files):
    return lambda *arguments: run("waive", *arguments, "--plan", files[1])


def kept(files):
    return files[1].with_name("plan.waivers.yaml")


def test_a_waived_finding_stays_in_the_report_and_counts_no_longer(run, files, waive, tmp_path):
    audit = ("audit", files[0], "--plan", files[1], "--json", tmp_path / "r.json")
    assert run(*audit)[0] == 1
    code, out, err = waive(HOP, "--reason", "the host shows it on screen")
    assert (code, err) == (0, [])
    assert out == f"Waived {HOP} in {kept(files)}. An audit that does not find it will say so.\n"
    code, out, _ = run(*audit)
    assert code == 0
    assert "1 waived." in " ".join(out.split())
    assert "stale" not in out
    assert "easier-missing" not in out
    report = json.loads((tmp_path / "r.json").read_bytes())
    reasons = {f["id"]: f["waived"] for f in report["findings"] if f["waived"]}
    assert reasons == {HOP: "the host shows it on screen"}
    assert report["stale_waivers"] == []
    waive(HOP, "--remove")
    assert run(*audit)[0] == 1


def test_a_waiver_whose_finding_is_not_there_is_told_as_stale(run, files, waive, tmp_path):
    waive(NONE, "--reason", "cut since")
    code, out, err = run("audit", files[0], "--plan", files[1], "--json", tmp_path / "r.json", "--fail-on", "never")
    assert (code, err) == (0, [])
    assert f"1 waiver is stale: {NONE}." in " ".join(out.split())
    report = json.loads((tmp_path / "r.json").read_bytes())
    assert report["stale_waivers"] == [{"finding": NONE, "reason": "cut since"}]


def test_listing(waive):
    assert waive()[:2] == (0, "Nothing is waived.\n")
    waive(HOP, "--reason", "shown")
    waive(NONE, "--reason", "as\u202e meant")
    assert waive()[:2] == (0, f"{HOP}  shown\n{NONE}  as meant\n")


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ((HOP,), 'waive: a reason is missing; say why the finding may stay: --reason "..."'),
        ((HOP, "--reason", " "), 'waive: a reason is missing; say why the finding may stay: --reason "..."'),
        (("easier-missing", "--reason", "x"), "waive, finding: 'easier-missing' is no finding's id; "),
        (("--remove",), "waive: no finding is given; give its id, as reports show it"),
        (("--reason", "x"), "waive: no finding is given; give its id, as reports show it"),
        ((HOP, "--remove", "--reason", "x"), "waive: --remove and --reason exclude each other; give one of them"),
        ((HOP, "--remove"), "plan.waivers.yaml: finding '" + HOP + "' is not waived; "),
    ],
)
def test_mistakes_are_one_line_and_make_no_file(waive, files, arguments, says):
    code, out, err = waive(*arguments)
    assert (code, out, len(err)) == (2, "", 1)
    assert says in err[0]
    assert not kept(files).exists()


def test_nothing_is_made_beside_what_is_no_plan(run, files, tmp_path):
    for path in (tmp_path / "no.yaml", files[0]):
        code, _, err = run("waive", HOP, "--plan", path, "--reason", "x")
        assert (code, len(err)) == (2, 1)
    assert list(tmp_path.glob("*.waivers.yaml")) == []


def test_a_damaged_file_stops_audit_and_waive_with_all_its_mistakes(run, files, waive, tmp_path):
    kept(files).write_text(f"waivers:\n  - finding: nine\n  - {{finding: {HOP}, reason: why}}\n")
    before = kept(files).read_bytes()
    for code, out, err in (
        run("audit", files[0], "--plan", files[1], "--out", tmp_path / "out"),
        waive(NONE, "--reason", "x"),
        waive(HOP, "--remove"),
        waive(),
    ):
        assert (code, out, len(err)) == (2, "", 2)
        assert "line 2, waivers[0].finding: 'nine' is no finding's id" in err[1]
    assert kept(files).read_bytes() == before
    assert not (tmp_path / "out").exists()


def test_a_file_laid_out_in_one_line_is_refused_and_left(waive, files):
    text = f"waivers: [{{finding: {HOP}, reason: why}}]  # agreed\n"
    kept(files).write_text(text)
    code, _, err = waive(NONE, "--reason", "x")
    assert (code, len(err)) == (2, 1)
    assert "change it by hand" in err[0]
    assert kept(files).read_text() == text


def test_a_report_is_never_written_over_the_waivers(run, files, waive):
    waive(HOP, "--reason", "x")
    code, _, err = run("audit", files[0], "--plan", files[1], "--json", kept(files))
    assert (code, len(err)) == (2, 1)
    assert "is the input itself" in err[0]
