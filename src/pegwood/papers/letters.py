"""
Which signs the built-in letters can draw, and what stands in for those they cannot.

A paper is set in the fonts inside the Typst wheel and in nothing the machine happens to have, so that it is
the same sheet everywhere. These cover Latin, Greek, Cyrillic, Hebrew, Arabic and a good deal more, but no
Chinese, Japanese or Korean and no emoji. The ranges below were found by asking Typst itself, which refuses an
archival PDF with a sign it cannot draw; a test asks again.
"""

from __future__ import annotations

import unicodedata
from bisect import bisect_right
from functools import cache

BOX = "\u25af"

# Signs of no width that turn or hide what stands around them: shown, they could make a sum read otherwise.
_TURNING = {*range(0x202A, 0x202F), *range(0x2066, 0x206A), 0x200E, 0x200F, 0x061C}
_BREAKS = {
    "\r\n": "\n",
    "\r": "\n",
    "\v": "\n",
    "\f": "\n",
    "\u2028": "\n",
    "\u2029": "\n",
    "\x85": "\n",
    "\t": " ",
}
_SILENT = {"Cc", "Cf", "Mn", "Me", "Sk", "Zs"}
_JOINERS = {"\u200c", "\u200d"}

_DRAWABLE = """
20-7e a0-ac ae-34e 350-377 37a-37f 384-38a 38c 38e-3a1 3a3-4ff 510-513 51a-51d 531-556 559-58a
58d-58f 591-5c7 5d0-5ea 5ef-5f4 606-60c 615 61b 61f 621-63a 640-655 65a 660-66d 674 679-67b 67e-680
683-684 686-687 691 698 6a4 6a9 6af 6be 6cc 6f0-6f9 900-97f e3f e81-e82 e84 e87-e88 e8a e8d e94-e97
e99-e9f ea1-ea3 ea5 ea7 eaa-eab ead-eb9 ebb-ebc ec8-ecd 10d0-10ff 13a0-13f5 13f8-13fd 17c1-17c3
1ab0-1ace 1d00-1f15 1f18-1f1d 1f20-1f45 1f48-1f4d 1f50-1f57 1f59 1f5b 1f5d 1f5f-1f7d 1f80-1fb4
1fb6-1fc4 1fc6-1fd3 1fd6-1fdb 1fdd-1fef 1ff2-1ff4 1ff6-1ffe 2000-200a 200c-200d 2010-2027 202f-2040
2042 2044-2052 2054-205f 2070-2071 2074-208e 2090-209c 20a0-20c0 20d0-20f0 2100-211e 2120 2122 2124
2126-2151 2153-2184 2189 2190-23ff 2422-2423 2460-262f 2638-268b 2690-269c 26a0-26a7 26aa-26b2
2701-2704 2706-2709 270c-2727 2729-274b 274d 274f-2752 2756 2758-275e 2761-277f 2794 2798-27af
27b1-2b73 2b76-2b95 2b97-2bff 2c60-2cf3 2cf9-2cff 2e02-2e05 2e08-2e0a 2e17-2e18 2e1f 2e22-2e25 2e2e
3000 3012 3016-3017 301a-301b 302e-3030 3036 306e a46a-a46b a640-a641 a648-a649 a656-a657 a708-a716
a71b-a727 a72d a730 a735 a765 a789-a78e a790-a791 a793 a7aa a7f8-a7f9 ab52 ab66 ab70-abbf fb00-fb06
fb13-fb17 fb1d-fb36 fb38-fb3c fb3e fb40-fb41 fb43-fb44 fb46-fb4f fb52-fb81 fb8a-fb95 fb9e-fb9f fbaa-
fbad fbe8-fbe9 fbfc-fbff fe20-fe2f fe66 fe70-fe74 fe76-fefc fffc-fffd 10140-1018e 102e0-102fb
1d106-1d107 1d400-1d454 1d456-1d49c 1d49e-1d49f 1d4a2 1d4a5-1d4a6 1d4a9-1d4ac 1d4ae-1d4b9 1d4bb
1d4bd-1d4c3 1d4c5-1d505 1d507-1d50a 1d50d-1d514 1d516-1d51c 1d51e-1d539 1d53b-1d53e 1d540-1d544
1d546 1d54a-1d550 1d552-1d6a5 1d6a8-1d7cb 1d7ce-1d7ff 1ee00-1ee03 1ee05-1ee1f 1ee21-1ee22 1ee24
1ee27 1ee29-1ee32 1ee34-1ee37 1ee39 1ee3b 1ee42 1ee47 1ee49 1ee4b 1ee4d-1ee4f 1ee51-1ee52 1ee54
1ee57 1ee59 1ee5b 1ee5d 1ee5f 1ee61-1ee62 1ee64 1ee67-1ee6a 1ee6c-1ee72 1ee74-1ee77 1ee79-1ee7c
1ee7e 1ee80-1ee89 1ee8b-1ee9b 1eea1-1eea3 1eea5-1eea9 1eeab-1eebb 1eef0-1eef1 1f12f 1f6d1
1f780-1f7d8 1f7e0-1f7eb 1f800-1f80b 1f810-1f847 1f850-1f859 1f860-1f887 1f890-1f8ad 1f8b0-1f8b1
"""


def shown(text: str) -> tuple[str, frozenset[str]]:
    """
    A text as the sheet can show it.

    Parameters
    ----------
    text : str

    Returns
    -------
    text : str
        In composed form (NFC), line breaks as `\\n`, no control signs, a box for each sign without a letter.
    missing : frozenset of str
        The signs a box stands for.
    """
    for sign, instead in _BREAKS.items():
        text = text.replace(sign, instead)
    out: list[str] = []
    missing: set[str] = set()
    for sign in unicodedata.normalize("NFC", text):
        if sign == "\n" or (is_drawable(sign) and not (sign in _JOINERS and out[-1:] == [BOX])):
            out.append(sign)
        elif ord(sign) not in _TURNING and unicodedata.category(sign) not in _SILENT:
            out.append(BOX)
            missing.add(sign)
    return "".join(out), frozenset(missing)


def is_drawable(sign: str) -> bool:
    """
    Whether the built-in letters hold a sign.

    Parameters
    ----------
    sign : str
        One character.

    Returns
    -------
    drawable : bool
    """
    starts, ends = _ranges()
    place = bisect_right(starts, ord(sign)) - 1
    return place >= 0 and ord(sign) <= ends[place]


@cache
def _ranges() -> tuple[list[int], list[int]]:
    pairs = [part.partition("-") for part in _DRAWABLE.split()]
    return [int(low, 16) for low, _, _ in pairs], [int(high or low, 16) for low, _, high in pairs]
