"""What is said of the posted programs as they should be: data only."""

# what is said of a program that is as it should be: variables and shifted zeros are named, never more
NAMED = {
    "2007": {"uses-variables"},
    "2010": {"uses-variables"},
    "2019": {"writes-offsets"},
    "2029": {"uses-variables"},
    "2034": {"uses-variables"},
    "2038": {"uses-variables"},
    "2040": {"uses-variables"},
    "2041": {"uses-variables"},
}
# what cannot be told of it, in a few words of the reason
NOT_TOLD = {
    "2005": {"no G0 to G3 in force"},
    "2007": {"by variable", "several work offsets"},
    "2010": {"lives in the control"},
    "2011": {"pockets are not the tool numbers"},
    "2013": {"several work offsets"},
    "2015": {"several work offsets"},
    "2020": {"G68"},
    "2023": {"differs between lathes"},
    "2024": {"differs between lathes", "no work offset", "driven tool, or a bar"},
    "2025": {"differs between lathes", "driven tool, or a bar"},
    "2027": {"no work offset"},
    "2033": {"G13", "no drilled hole is known", "start the spindle with it"},
    "2037": {"differs between lathes", "no work offset"},
    "2040": {"several work offsets", "#500 is not known"},
    "2041": {"G87", "G31", "are not known"},
    "2042": {"driven tool"},
}
