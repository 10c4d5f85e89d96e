"""What if at the desk: asking moves nothing, keeping chooses and locks, a made size is only moved by a reading."""

from __future__ import annotations

from asmade.book.address import Address


def test_asking_shows_what_would_move_and_saves_nothing(at_own_demo):
    last = at_own_demo.app.state.desk.look().opened.last
    page = at_own_demo.get("/what-if?size=wheel.boss_width&to=13.5").text
    assert "What would move" in page
    assert "connecting rod on the cylinder line" in page
    assert at_own_demo.app.state.desk.look().opened.last == last


def test_keeping_chooses_and_locks(at_own_demo):
    answer = at_own_demo.submit("/what-if/keep", size="wheel.boss_width", to="13.9")
    assert "Kept: wheel.boss_width 13.9" in answer.text
    held = at_own_demo.app.state.desk.look().build.chosen[Address("wheel", dim="boss_width")]
    assert (held.size, held.locked) == ("13.9", True)


def test_a_made_size_is_tried_but_not_kept(at_own_demo):
    assert "as if it measured so" in at_own_demo.get("/what-if?size=wheel@1L.bore&to=16.1").text
    answer = at_own_demo.submit("/what-if/keep", size="wheel@1L.bore", to="16.1")
    assert answer.status_code == 422
    assert "only a reading moves it" in answer.text


def test_what_cannot_be_tried_is_refused_beside_what_was_typed(at_demo):
    answer = at_demo.get("/what-if?size=wheel.bos&to=13.5")
    assert answer.status_code == 422
    assert 'value="wheel.bos"' in answer.text
    assert "boss" in answer.text
