"""Figures of an adhesive's data sheet: what no product has is refused by name, and nothing is saved."""

from __future__ import annotations

import pytest

from asmade.book.text import read_text
from asmade.measure.errors import AsmadeError
from asmade.verbs import shop, store

HEAD = '[adhesive.glue]\ngap_on_diameter = ["0.03 mm", "0.10 mm"]\n'


@pytest.fixture
def path(tmp_path):
    store.start(tmp_path / "small.asmade", read_text('[book]\ntitle = "small"\ndrawing_unit = "mm"\n'))
    return tmp_path / "small.asmade"


@pytest.mark.parametrize(("text", "named"), [
    (HEAD + "full_cure_hours = -1", "full_cure_hours"), (HEAD + "full_cure_hours = nan", "full_cure_hours"),
    (HEAD + "handling_hours = inf", "handling_hours"), (HEAD + "handling_hours = 0", "handling_hours"),
    (HEAD + "machining_hours = 1e9", "machining_hours"), (HEAD + 'working_minutes = "six"', "working_minutes"),
    (HEAD + "reference_c = 900", "reference_c"), (HEAD + "undo_c = -5", "undo_c"),
    (HEAD + 'strength = "20000 MPa"', "strength"), (HEAD + 'strength = "-20 MPa"', "strength"),
    (HEAD + 'gap_slows = [["0.03 mm", -2]]', "gap_slows"), (HEAD + 'gap_slows = [["0.03 mm"]]', "gap_slows"),
    ('[adhesive.glue]\ngap_on_diameter = ["0.10 mm", "0.03 mm"]', "gap"),
    ('[adhesive.glue]\ngap_radial = ["0.03 mm", "30 mm"]', "gap"),
])  # fmt: skip
def test_what_no_data_sheet_says_is_refused(path, text, named):
    with pytest.raises(AsmadeError) as refused:
        shop.change(path, text)
    assert "shop.adhesive.glue" in refused.value.message
    assert named in refused.value.message
    assert not store.read(path).build.shop.adhesives


def test_a_sheet_as_they_are_is_kept(path):
    more = (
        "working_minutes = 6\nhandling_hours = 1\nmachining_hours = 6\nfull_cure_hours = 24\nreference_c = 22\n"
        'undo_c = 250\nstrength = "25 MPa"\ngap_slows = [["0.03 mm", 1], ["0.10 mm", 2.5]]\n'
    )
    shop.change(path, HEAD + more)
    assert store.read(path).build.shop.adhesives["glue"].fields["full_cure_hours"] == 24
