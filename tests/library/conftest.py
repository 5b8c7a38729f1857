import json

import pytest
import yaml

from tests.generator import FORMS, generate

BAD = "spring/2026-04-01-damaged"


def write_class(folder, name, seed, coach):
    """Write an invented class as NAME.vtt and NAME.yaml."""
    made = generate(seed)
    source, write = FORMS["heard.vtt"]
    path = folder / f"{name}.vtt"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(write(source(made), made), encoding="utf-8")
    plan = yaml.safe_dump(made.plan_dict | {"coach": coach}, sort_keys=False)
    path.with_suffix(".yaml").write_text(plan, encoding="utf-8")


@pytest.fixture(scope="session")
def made_classes(tmp_path_factory):
    """Five classes in two series by two coaches, a recording that is none, and a file without a partner."""
    folder = tmp_path_factory.mktemp("classes")
    for number, seed in enumerate((618, 666, 604, 607, 602)):
        series = ("spring", "autumn")[number % 2]
        name = f"{series}/2026-0{3 + number}-1{number}-class-{number}"
        write_class(folder, name, seed, f"Coach {'AB'[number % 2]}")
    (folder / f"{BAD}.vtt").write_text("no captions", encoding="utf-8")
    (folder / f"{BAD}.yaml").write_bytes(next((folder / "spring").glob("*class-0.yaml")).read_bytes())
    (folder / "notes.txt").write_text("remember the mats", encoding="utf-8")
    return folder


@pytest.fixture
def classes(made_classes, tmp_path):
    """A copy of the classes that a test may change."""
    folder = tmp_path / "classes"
    for path in made_classes.rglob("*"):
        if path.is_file():
            copy = folder / path.relative_to(made_classes)
            copy.parent.mkdir(parents=True, exist_ok=True)
            copy.write_bytes(path.read_bytes())
    return folder


def results(out):
    """Every file that counts below an output folder, by its name: the lock and parts of the past are left out."""
    current = json.loads((out / "store" / "current.json").read_text())
    kept = {"store", *(f"store/{part}" for part in current["parts"])}
    files = {}
    for path in sorted(out.rglob("*")):
        name = path.relative_to(out).as_posix()
        counts = not name.startswith("store/") or name.rpartition("/")[0] in kept
        if path.is_file() and counts and name != ".lock":
            files[name] = path.read_bytes()
    return files
