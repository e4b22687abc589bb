"""The published site: plain pages that work from a disk, with nothing internal on them."""

from archive.site.pattern_pages import NextPattern
from archive.site.publishing import Published, publish_site
from archive.site.swapping import NotASite

__all__ = ["NextPattern", "NotASite", "Published", "publish_site"]
