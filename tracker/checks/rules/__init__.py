"""The rules, one module a family; each ends with ``RULES``."""
