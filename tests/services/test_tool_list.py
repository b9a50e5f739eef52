"""A tool list from a spreadsheet: headings in any order, nothing guessed."""

import pytest

from tracker.errors import BadCall
from tracker.services.tool_list import LEFT_OUT, read_tool_list


def nobody(heading, keys):
    raise AssertionError(f"nobody is to be asked about {heading!r}")


def read(text, *, columns=None, ask=nobody):
    return read_tool_list(text.encode(), "l.csv", columns=columns or {}, ask=ask)


def refused(text, **more):
    with pytest.raises(BadCall) as told:
        read(text, **more)
    return told.value


def test_headings_in_any_order_and_by_the_names_shops_give_them():
    found = read(
        "Dia (in),Stick-out,Tool No.,DESCRIPTION,H,D offset,Colour\n"
        "0.5,1.25,T3,1/2 4FL END MILL,3,23,red\n,2,4,,H4,,\n"
    )
    assert found.tools == {
        3: {"diameter": 0.5, "stick_out": 1.25, "description": "1/2 4FL END MILL", "h": 3, "d": 23},
        4: {"stick_out": 2, "h": 4},
    }
    assert found.left_out == ("Colour",)


def test_semicolons_and_comma_figures():
    assert read("T;Dia;Large;TSC\n7;12,5;x;nein\n").tools == {
        7: {"diameter": 12.5, "large": True, "through_coolant": False}
    }


@pytest.mark.parametrize("heading", ["D", "Length", "R", "Depth", "L", "Radius"])
def test_what_might_mean_two_things_is_asked(heading):
    asked = []

    def ask(text, keys):
        asked.append((text, tuple(keys)))
        return keys[0]

    found = read(f"T,{heading}\n3,1\n", ask=ask)
    ((text, keys),) = asked
    assert text == heading
    assert found.tools == {3: {keys[0]: 1}}
    assert read(f"T,{heading}\n3,1\n", ask=lambda *_: LEFT_OUT).left_out == (heading,)


def test_what_a_person_says_of_a_heading_stands_before_everything():
    found = read("T,Length,Name\n3,1.5,CUTTER\n", columns={"length": "stick_out", "Name": LEFT_OUT})
    assert found.tools == {3: {"stick_out": 1.5}}
    assert found.left_out == ("Name",)


def test_the_keys_of_the_setup_sheet_are_headings_too():
    assert read("number,nose_radius,lowest_z,insert\n2,0.4,-1.5,DNMG\n").tools == {
        2: {"nose_radius": 0.4, "lowest_z": -1.5, "insert": "DNMG"}
    }


@pytest.mark.parametrize(
    ("text", "columns", "words"),
    [
        ("Dia,H\n1,2\n", {}, "no heading says where the tool numbers stand"),
        ("T,Dia,Diameter\n1,2,3\n", {}, "both 'Dia' and 'Diameter' would be diameter"),
        ("T,Dia\n1,2\n", {"Length": "stick_out"}, "no column 'Length'"),
        ("T,Dia\n1,2\n", {"Dia": "diametre"}, "no key 'diametre'"),
    ],
)
def test_headings_that_will_not_do(text, columns, words):
    fault = refused(text, columns=columns)
    assert (fault.name, fault.where) == ("csv-heading", "l.csv:1")
    assert words in fault.what
    assert "--column" in fault.fix


@pytest.mark.parametrize(
    ("text", "where", "words"),
    [
        ("T,Dia\n1,0.5\n1,0.6\n", "l.csv:3", "tool 1 stands in the list twice"),
        ("T,Dia\n1,half\n", "l.csv:2", "'half' is not a number"),
        ("T,Dia\n,0.5\n", "l.csv:2", "no tool number"),
        ("T,Dia\n1.5,0.5\n", "l.csv:2", "'1.5' is not a whole number"),
        ("T,Stick-out\n1,-1\n", "l.csv:2", "stick_out"),
        ("T,Dia\n0,0.5\n", "l.csv:2", "number"),
        ("T,Large\n1,maybe\n", "l.csv:2", "'maybe' is not true or false"),
        ("T,H\n1,\u00b2\n", "l.csv:2", "is not a whole number"),
    ],
)
def test_cells_that_will_not_do(text, where, words):
    fault = refused(text)
    assert (fault.name, fault.where) == ("csv-value", where)
    assert words in fault.what


def test_what_another_heading_says_plainly_a_short_one_does_not_mean():
    assert read("T,Diameter,D\n3,0.5,23\n").tools == {3: {"diameter": 0.5, "d": 23}}
    assert read("T,Stick-out,Flute length,Length\n3,1,2,4.5\n").tools == {
        3: {"stick_out": 1, "flute_length": 2, "length": 4.5}
    }
