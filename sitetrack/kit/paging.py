"""Cursor pages: every list has a bound and stays stable while rows are added."""

from rest_framework.pagination import CursorPagination


class CursorPages(CursorPagination):
    """Pages of 100, at most 500, walked by an opaque cursor in the order of the id (time of making)."""

    page_size = 100
    max_page_size = 500
    page_size_query_param = "page_size"
    ordering = "id"
