"""User text in XML."""

from __future__ import annotations

import re
from xml.sax.saxutils import escape

from traverse.sheet.paper.fonts import visible

_NO_XML = re.compile("[^\t\n\r -\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What XML 1.0, section 2.2, allows in no document."""


def xml_text(text: str) -> str:
    r"""Text as XML shows it: escaped, and without what no document may hold.

    >>> xml_text("<b>\x00&\uffff")
    '&lt;b&gt;&amp;'
    """
    return escape(_NO_XML.sub("", visible(text)))
