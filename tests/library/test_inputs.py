import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.library.folders import LocalFolder, checked
from analyzer.library.inputs import ClassFiles, find_classes, pair_by_name
from analyzer.model.errors import AnalyzerError


@pytest.mark.parametrize(
    ("names", "pairs"),
    [
        (["a.vtt", "a.yaml"], [("a", "a.vtt", "a.yaml")]),
        (["a.VTT", "a.yml"], [("a", "a.VTT", "a.yml")]),
        (["s/a.srt", "s/a.yaml", "t/a.srt"], [("s/a", "s/a.srt", "s/a.yaml")]),
        (["a.csv", "a.yaml"], [("a", "a.csv", "a.yaml")]),  # a table is the recording where the plan is no table
        (["a.csv", "a.vtt"], [("a", "a.vtt", "a.csv")]),
        (["a.csv", "a.xlsx"], [("a", "a.csv", "a.xlsx")]),
        (["a.mp4", "a.vtt", "a.yaml"], [("a", "a.vtt", "a.yaml")]),
        (["a.vtt", "b.yaml"], []),
        (["a.vtt", "a.json", "a.yaml"], []),
        (["readme.md", "a.mp4"], []),
    ],
)
def test_files_of_one_name_are_a_class(names, pairs):
    assert [(c.key, c.recording, c.plan) for c in pair_by_name(names).classes] == pairs


def test_what_is_left_out_is_told():
    listing = pair_by_name(["a.vtt", "b.yaml", "c.vtt", "c.json", "c.yaml", "d.mp4"])
    assert [(row.name, row.reason) for row in listing.left_out] == [
        ("a.vtt", "no plan has its name"),
        ("b.yaml", "no recording has its name"),
        ("c.json", "2 recordings have this name: c.json, c.vtt; say which in a manifest"),
    ]


@pytest.mark.parametrize(
    ("recording", "series", "date"),
    [
        ("a.vtt", "", ""),
        ("spring/2026-03-14-low.vtt", "spring", "2026-03-14"),
        ("studio/spring/2026-03-14.vtt", "studio/spring", "2026-03-14"),
        ("20260314-low.vtt", "", ""),
        ("2026-02-30-low.vtt", "", ""),
    ],
)
def test_folder_and_name_tell_series_and_date(recording, series, date):
    (found,) = pair_by_name([recording, recording.replace(".vtt", ".yaml")]).classes
    assert (found.series, found.date) == (series, date)


def test_waivers_belong_to_their_plan():
    (found,) = pair_by_name(["s/a.vtt", "s/a.waivers.yaml", "s/a.yaml"]).classes
    assert found.waivers == "s/a.waivers.yaml"


@pytest.fixture
def folder(tmp_path):
    for name in ("takes/a.vtt", "takes/b.vtt", "plans/a.yaml"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text("x")
    return tmp_path


def listed(folder, text):
    (folder / "manifest.csv").write_text(text, encoding="utf-8-sig")
    return find_classes(LocalFolder(folder))


def test_a_manifest_says_what_names_do_not(folder):
    listing = listed(
        folder,
        "Recording,plan,coach,series,date\r\n"
        'takes/b.vtt,plans/a.yaml,"Coach A, the elder",spring,2026-03-14\r\n'
        "takes/a.vtt,plans/a.yaml\r\n\r\n"
        "takes/c.vtt,plans/a.yaml,,,\r\n",
    )
    assert listing.classes == (
        ClassFiles("takes/a", "takes/a.vtt", "plans/a.yaml", None, "", "takes", ""),
        ClassFiles("takes/b", "takes/b.vtt", "plans/a.yaml", None, "Coach A, the elder", "spring", "2026-03-14"),
    )
    (left,) = listing.left_out
    assert left.reason == "manifest.csv, row 5: no such file: takes/c.vtt"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "row 1: is empty"),
        ("recording;plan\n", "row 1: the columns are 'recording;plan'"),
        ("recording,plan,recording\n", "recording and plan are needed"),
        ("recording,plan\n../a.vtt,plans/a.yaml\n", "row 2: recording: '../a.vtt'; give a path inside the folder"),
        ("recording,plan\n/etc/passwd,plans/a.yaml\n", "give a path inside the folder"),
        ("recording,plan\ntakes/a.vtt,\n", "row 2: plan: nothing"),
        ("recording,plan,date\ntakes/a.vtt,plans/a.yaml,14.3.2026\n", "date: '14.3.2026'; write year-month-day"),
        ("recording,plan\n" + "takes/a.vtt,plans/a.yaml\n" * 2, "row 3: 'takes/a' is listed twice"),
        ("recording,plan\ntakes/x.vtt,plans/a.yaml\n", "lists no class whose files are there"),
        ('recording,plan\n"takes/a.vtt,plans/a.yaml\n', "is no CSV in UTF-8"),
    ],
)
def test_mistakes_of_a_manifest_name_their_row(folder, text, told):
    with pytest.raises(AnalyzerError, match=r"manifest\.csv") as caught:
        listed(folder, text)
    assert told in str(caught.value)


def test_all_mistakes_of_a_manifest_come_at_once(folder):
    with pytest.raises(AnalyzerError, match="row 2") as caught:
        listed(folder, "recording,plan\n,plans/a.yaml\n../b.vtt,plans/a.yaml\n")
    assert [mistake.place for mistake in caught.value.mistakes] == ["row 2", "row 3"]


def test_a_folder_without_classes_is_refused(tmp_path):
    with pytest.raises(AnalyzerError, match="no file is there"):
        find_classes(LocalFolder(tmp_path / "nowhere"))
    (tmp_path / "a.vtt").write_text("x")
    with pytest.raises(AnalyzerError, match="no recording has a plan of the same name"):
        find_classes(LocalFolder(tmp_path))
    with pytest.raises(AnalyzerError, match=r"list\.csv: cannot be read"):
        find_classes(LocalFolder(tmp_path), tmp_path / "list.csv")


def test_results_in_the_folder_are_no_classes(tmp_path):
    for name in ("a.vtt", "a.yaml", "out/reports/b/b.json", "out/reports/b/b.yaml"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text("x")
    assert [c.key for c in find_classes(LocalFolder(tmp_path), skip="out").classes] == ["a"]


@given(st.lists(st.from_regex(r"[ab]/?[ab]{0,2}\.(vtt|json|csv|yaml|xlsx|md)", fullmatch=True), unique=True))
def test_every_file_is_used_once_or_told(names):
    listing = pair_by_name(names)
    used = [name for c in listing.classes for name in (c.recording, c.plan)]
    assert len(used) == len(set(used))
    assert set(used) <= set(names)
    assert len({c.key for c in listing.classes}) == len(listing.classes)
    assert not {row.name for row in listing.left_out} & set(used)


@pytest.mark.parametrize("name", ["", "/a", "../a", "a/../b", "C:/a", ".hidden/a", "a/.b"])
def test_names_that_lead_astray_are_refused(name):
    with pytest.raises(ValueError, match=r".*"):
        checked(name)


def test_backslashes_are_slashes():
    assert checked("takes\\a.vtt") == "takes/a.vtt"
