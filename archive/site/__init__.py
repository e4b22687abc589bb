"""The published site: plain pages that work from a disk, with nothing internal on them."""

from archive.site.following import ComesNext, NextPattern
from archive.site.publishing import Published, publish_site
from archive.site.shelved import Shelved
from archive.site.swapping import NotASite

__all__ = ["ComesNext", "NextPattern", "NotASite", "Published", "Shelved", "publish_site"]
