"""Papers: from rows to HTML to PDF."""
