"""Where the map's labels stand, asked in a browser with labels of known size.

A letter is 6 units wide and a line 10 high, so that a full name of 15 letters takes 90; it begins
6 units from the middle of its dot.
"""

from __future__ import annotations

import pytest
from browsing import BROWSER_MARKS, bare_page, opened

pytestmark = BROWSER_MARKS

# The frame stands at 40, 20 of the window and the zoom control, 30 by 30, in its corner.
_NAMED = """([width, height, given]) => {
  const box = (left, top, wide, high) => { const made = document.createElement('div');
    Object.assign(made.style, { position: 'absolute', left: `${left}px`, top: `${top}px`,
      width: `${wide}px`, height: `${high}px`, overflow: 'hidden' });
    document.body.append(made); return made; };
  document.body.textContent = '';
  const frame = box(40, 20, width, height), zoom = box(40, 20, 30, 30);
  const labels = given.map(([x, y, words]) => {
    const held = box(0, 0, 0, 10), text = document.createElement('span');
    held.append(text);
    const tooltip = { options: {}, update() {
      const { direction, offset } = tooltip.options, wide = 6 * text.textContent.length;
      const left = { right: x, left: x - wide }[direction] ?? x - wide / 2;
      const top = { top: y - 10, bottom: y }[direction] ?? y - 5;
      Object.assign(held.style, { left: `${40 + left + offset[0]}px`, width: `${wide}px`,
        top: `${20 + top + offset[1]}px` }); } };
    return { words, text, tooltip, point: { x, y } }; });
  window.SM.maplayers.nameLabels({ getContainer: () => frame, latLngToContainerPoint: p => p,
    zoomControl: { getContainer: () => zoom } }, labels);
  return labels.map(({ text, tooltip }) =>
    [text.textContent, text.parentNode.hidden ? '' : tooltip.options.direction]); }"""

SHORT, DATED, FULL = WORDS = ["1", "1 · May", "1 Lowland · May"]
TOWN = ["", "Osh"]


@pytest.fixture(scope="module")
def named(browser, tmp_path_factory):
    """Return a function that gives what stands on which side of each dot."""
    file = bare_page(
        tmp_path_factory.mktemp("labels") / "bare.html",
        ("first.js", "words.js", "maplayers.js"),
    )
    with opened(browser, scheme=None) as visit:
        page = visit(file)
        yield lambda width, height, *labels: [
            tuple(one) for one in page.evaluate(_NAMED, [width, height, list(labels)])
        ]


@pytest.mark.parametrize(
    ("width", "height", "x", "y", "expected"),
    [
        (400, 300, 200, 150, (FULL, "right")),
        (400, 300, 303, 150, (FULL, "right")),  # to 399
        (400, 300, 304, 150, (FULL, "left")),
        (190, 300, 97, 150, (FULL, "left")),  # from 1
        (190, 300, 96, 150, (FULL, "top")),
        (190, 300, 95, 17, (FULL, "top")),  # from 1
        (190, 300, 95, 16, (FULL, "bottom")),
        (190, 33, 95, 16, (FULL, "bottom")),  # to 32
        (190, 32, 95, 16, (DATED, "right")),
        (40, 20, 20, 10, (SHORT, "right")),  # no room at all: its number stands always
    ],
)
def test_a_label_stays_on_the_map(named, width, height, x, y, expected):
    """Right, left, above, below, with fewer words where the full ones fit on no side."""
    assert named(width, height, [x, y, WORDS]) == [expected]


@pytest.mark.parametrize(("x", "side"), [(127, "left"), (126, "top")])
def test_a_label_keeps_clear_of_the_zoom_control(named, x, side):
    """A name left of its dot begins at x - 96; the control ends at 30."""
    assert named(221, 300, [x, 25, WORDS]) == [(FULL, side)]


@pytest.mark.parametrize(
    ("away", "side"), [((103, 0), "right"), ((102, 0), "left"), ((80, 12), "right"),
                       ((80, 11), "left"), ((80, -12), "right"), ((80, -11), "left")]
)  # fmt: skip
def test_a_label_keeps_clear_of_other_places(named, away, side):
    """It runs from 6 to 96 and 5 up and down; the other dot reaches 6 to each side."""
    other = [200 + away[0], 150 + away[1], ["2"]]
    assert named(400, 300, [200, 150, WORDS], other)[0] == (FULL, side)


def test_names_come_after_months_and_towns(named):
    """Every label gets its second words before any its third: the town is right of its dot.

    The first place's name would cover it there, so it stands left.
    """
    assert named(400, 300, [200, 150, WORDS], [250, 150, TOWN]) == [
        (FULL, "left"),
        ("Osh", "right"),
    ]


def test_a_town_without_room_has_no_name(named):
    """Its dot lies under a place, whose number and dot leave no side free; the place stays."""
    assert named(60, 26, [30, 13, ["12345"]], [30, 13, TOWN]) == [("12345", "right"), ("", "")]
