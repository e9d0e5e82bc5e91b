"""The client book: five CSV files that bring clients, sites, supports, trees and records in, all or nothing.

``tables`` reads files into rows of text, ``fields`` turns text into values, ``rows`` holds one class per kind of
row, ``checks`` looks across rows and files, ``store`` writes. Every fault of every file is found before any of them
is raised.
"""

from gardens.services.book.importing import BookOutcome, import_book
from gardens.services.book.templates import write_templates

__all__ = ["BookOutcome", "import_book", "write_templates"]
