"""Words, tables and pictures from finished records. No arithmetic."""

from caddiebrain.report.book import book_html, write_book

__all__ = ["book_html", "write_book"]
