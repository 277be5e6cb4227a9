"""A small machine, invented like its data, whose sheet has everything; and a sheet's HTML taken apart."""

from html.parser import HTMLParser

AIR = 0.9e5  # Pa, of the hut on the ridge
TITLE = 'Preamplifier <script>alert("1")</script> & "dish 2"'
SMALL = """
title = 'Preamplifier <script>alert("1")</script> & "dish 2"'
notes = "invented: spare machine of the ridge-top radio-astronomy club"  # </pre><b>not bold</b>

[ambient]
temperature = "22 degC"
pressure = "0.9 bar"

[compressor]
type = "rotary"
displacement = "6.4 cm3"
speed = "2900 rpm"
voltage = "230 V"
largest_discharge_temperature = "107 degC"

[rating]
refrigerant = "R-22"
capacity = "4000 BTU/h"
point = "air conditioning"
rated_current = "2.2 A"

[circuit]
suction_pressure = "3 bar"
discharge_pressure = "15 bar"

[recuperator]
conductance = "20 W/K"

[throttle]
diameter = "0.8 mm"
length = "1.6 m"

[volumes]
hot = "0.9 L"
recuperator_high = "0.2 L"
recuperator_low = "0.5 L"
evaporator = "0.1 L"
buffer = "6 L"

[standstill]
largest_pressure = "16 bar"
hottest_temperature = "50 degC"

[cold_mass]
copper = "1 kg"
coldest = "195 K"

[cold_end]
temperature = "200 K"
load = "10 W"

[blend]
methane = 0.3
ethane = 0.7
"""
LACKING = (
    "throttle",
    "volumes",
    "standstill",
    "cold_mass",
)  # tables without which the circuit is solved all the same


def without(text: str, *tables: str) -> str:
    """A case without some of its tables."""
    kept = [
        part
        for part in text.split("\n\n")
        if not part.lstrip().startswith(tuple(f"[{name}]" for name in tables))
    ]
    return "\n\n".join(kept)


class Taken(HTMLParser):
    """Ids, references, texts of the sections by id, rows of their tables, the elements' names, alternatives of pictures."""

    def __init__(self, page: str):
        super().__init__()
        self.ids, self.tags, self.attributes, self.rows, self.texts, self.titles = [], [], [], {}, {}, []
        self._section, self._in = "", []
        self.feed(page)

    def handle_starttag(self, tag, attributes):
        named = dict(attributes)
        self.tags.append(tag)
        self.attributes.append((tag, named))
        if "id" in named:
            self.ids.append(named["id"])
        if tag == "section":
            self._section = named["id"]
        if tag == "tr":
            self.rows.setdefault(self._section, []).append([])
        if tag in ("td", "th"):
            self.rows[self._section][-1].append("")
        if tag in ("title", "td", "th", "pre"):
            self._in.append(tag)
            if tag == "title":
                self.titles.append("")

    def handle_endtag(self, tag):
        if self._in and self._in[-1] == tag:
            self._in.pop()

    def handle_data(self, text):
        self.texts[self._section] = self.texts.get(self._section, "") + text
        inside = self._in[-1] if self._in else ""
        if inside == "title":
            self.titles[-1] += text
        if inside in ("td", "th"):
            self.rows[self._section][-1][-1] += text
