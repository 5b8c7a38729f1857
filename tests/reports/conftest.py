import importlib.util
from pathlib import Path

import pytest


def _load():
    spec = importlib.util.spec_from_file_location("synthetic_audit", Path(__file__).with_name("synthetic.py"))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


_SYNTHETIC = _load()


@pytest.fixture(scope="session")
def build():
    """The builder: ``build(text=..., name=...)`` gives an Audit."""
    return _SYNTHETIC.audit


@pytest.fixture(scope="session")
def audit(build):
    return build()


@pytest.fixture(scope="session")
def hostile_text():
    return _SYNTHETIC.HOSTILE
