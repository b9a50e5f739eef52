"""Tool sections of a program, and which of them an edit changed."""

from tracker.machining.section_changes import ALL, Sections, changed_sections, of_readings
from tracker.machining.section_list import ToolSection, sections

__all__ = ["ALL", "Sections", "ToolSection", "changed_sections", "of_readings", "sections"]
