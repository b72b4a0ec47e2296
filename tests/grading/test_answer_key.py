"""The answers of a class are read as its files stand now."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import numpy as np
import pytest
from lengthwise.classroom.answer_key import AnswerKey, StudentKey, draw_key, key_of, write_key
from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.errors import ClassroomError
from lengthwise.marking.items import read_items, shuffled

NAME = "a1_landmarks"


def test_items_that_were_edited_are_read_anew(course: Path, tmp_path: Path) -> None:
    taught = ClassFolder(tmp_path, "spring", 0.5, (NAME,), "0")
    items = taught.items_path(NAME)
    items.parent.mkdir(parents=True)
    shutil.copyfile(course / "items" / f"{NAME}.toml", items)
    name, item = next(iter(read_items(items).items()))
    lettered = {name: shuffled(item, np.random.default_rng(1))}
    write_key(taught, AnswerKey(taught.name, NAME, {"ada": StudentKey({}, lettered)}))
    assert key_of(taught, NAME, "ada").items[name].item.stem == item.stem

    before = items.stat().st_mtime_ns
    items.write_text(items.read_text("utf-8").replace(item.stem, "Mended."), encoding="utf-8")
    os.utime(items, ns=(before, before + 1))
    assert key_of(taught, NAME, "ada").items[name].item.stem == "Mended."


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[items.first]\n", "item first, field stem: missing"),
        ("[items", "TOMLDecodeError"),
        ("", "KeyError: 'items'"),
    ],
)
def test_questions_that_cannot_be_read_are_named_with_their_file(
    tmp_path: Path, text: str, said: str
) -> None:
    taught = ClassFolder(tmp_path, "spring", 0.5, (NAME,), "0")
    taught.items_path(NAME).parent.mkdir(parents=True)
    taught.items_path(NAME).write_text(text, encoding="utf-8")
    with pytest.raises(ClassroomError) as problem:
        draw_key(taught, NAME, ("ada",), b"secret")
    assert str(taught.items_path(NAME)) in str(problem.value)
    assert said in str(problem.value)
