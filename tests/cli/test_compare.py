import subprocess
import sys

import pysubs2
import pytest

CUT_S, UNTIL_S = 703, 717  # inside the rest between the rounds of the sample's third block, which runs 14 s over


@pytest.fixture
def re_edit(sample, tmp_path):
    """The sample with the surplus of one rest cut out."""
    captions = pysubs2.load(str(sample[0]))
    kept = [e for e in captions if e.end <= CUT_S * 1000 or e.start >= UNTIL_S * 1000]
    for event in kept:
        if event.start >= UNTIL_S * 1000:
            event.shift(s=CUT_S - UNTIL_S)
    captions.events = kept
    path = tmp_path / "re-edit.vtt"
    captions.save(str(path))
    return path


def test_a_re_edit_against_its_recording(run, sample, re_edit, tmp_path):
    code, out, err = run("compare", sample[0], re_edit, "--plan", sample[1], "--out", tmp_path / "out")
    assert (code, err) == (0, [])
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["compare.html"]
    lines = out.splitlines()
    fixed = [line for line in lines if line.startswith("  fixed")]
    assert any("The rest between rounds after V-sit" in line for line in fixed)
    (engine,) = [line.split() for line in lines if line.startswith("Engine room   ")]
    assert engine[2:4] == ["take", "2"]
    (cargo,) = [line.split() for line in lines if line.startswith("Cargo   ")]
    assert cargo[1] == "even"
    assert lines[-2] == "Over the whole class: take 2, fewer or lighter findings."
    assert lines[-1] == f"Page: {tmp_path / 'out' / 'compare.html'}"
    assert str(tmp_path) not in (tmp_path / "out" / "compare.html").read_text()


def test_waivers_beside_the_plan_hold_for_all_takes(run, sample, re_edit, tmp_path):
    plan = tmp_path / "plan.yaml"
    plan.write_bytes(sample[1].read_bytes())
    run("waive", "ed47b600c369", "--plan", plan, "--reason", "shown on screen")
    _, out, _ = run("compare", sample[0], re_edit, "--plan", plan)
    assert "easier option in this" not in out
    assert " ".join(out.split()).count("1 waived.") == 2


def test_the_same_take_twice_is_even(run, sample):
    code, out, _ = run("compare", sample[0], sample[0], "--plan", sample[1])
    assert code == 0
    assert "0 fixed, 0 new, 13 remaining" in out
    assert out.endswith("Over the whole class: even.\n")


def test_one_take_is_not_enough(run, sample, tmp_path):
    code, out, err = run("compare", sample[0], "--plan", sample[1], "--out", tmp_path / "out")
    assert (code, out) == (2, "")
    assert err == ["compare: one take is given; give two or more of the same class"]


def test_a_take_of_another_class_is_named(run, sample, tmp_path):
    other = sample[0].parents[1] / "attic-mobility" / "transcript.txt"
    code, out, err = run("compare", sample[0], other, "--plan", sample[1], "--out", tmp_path / "out")
    assert (code, out, len(err)) == (2, "", 1)
    assert err[0].startswith("transcript.txt, against plan.yaml: ")
    assert not (tmp_path / "out").exists()


def test_quiet_and_a_folder_that_is_a_file(run, sample, re_edit, tmp_path):
    out = tmp_path / "out"
    assert run("compare", sample[0], re_edit, "--plan", sample[1], "--out", out, "-q") == (0, "", [])
    code, _, err = run("compare", sample[0], re_edit, "--plan", sample[1], "--out", re_edit)
    assert (code, len(err)) == (2, 1)
    assert "is a file" in err[0]


def test_a_page_is_never_written_over_a_take(run, sample, re_edit):
    take = re_edit.rename(re_edit.with_name("compare.html"))
    code, _, err = run("compare", sample[0], take, "--plan", sample[1], "--out", take.parent)
    assert (code, len(err)) == (2, 1)
    assert "is the input itself" in err[0]


def test_the_template_engine_is_only_loaded_for_the_page(sample):
    words = ["compare", str(sample[0]), str(sample[0]), "--plan", str(sample[1])]
    code = f"import sys\nfrom analyzer.cli import main\nmain({words!r})\nprint(*sorted(sys.modules), file=sys.stderr)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert set(done.stderr.split()) & {"jinja2", "matplotlib", "pandas"} == set()
