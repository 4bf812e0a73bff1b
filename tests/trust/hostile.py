"""Names as malice, accidents and the whole world's scripts make them."""

import csv
import io

SCRIPT = "window.ran=(window.ran||0)+1"

NAMES = (
    # scripts and the ways to start one
    f"<script>{SCRIPT}</script>",
    f"</script><script>{SCRIPT}</script>",
    f"</style><script>{SCRIPT}</script>",
    f"</title><script>{SCRIPT}</script>",
    f"--><script>{SCRIPT}</script><!--",
    f"]]><script>{SCRIPT}</script>",
    f'"><img src=x onerror="{SCRIPT}">',
    f"' onmouseover='{SCRIPT}' x='",
    f"<svg onload={SCRIPT}>",
    f"<svg><animate onbegin={SCRIPT} attributeName=x dur=1s>",
    f"<iframe srcdoc='<script>parent.{SCRIPT}</script>'></iframe>",
    f"<a href='javascript:{SCRIPT}'>Sage</a>",
    f"javascript:{SCRIPT}",
    f"<math><mtext></form><form><mglyph><style></math><img src onerror={SCRIPT}>",
    f"<details open ontoggle={SCRIPT}>",
    f"&lt;script&gt;{SCRIPT}&lt;/script&gt;",
    f"&#60;img src=x onerror={SCRIPT}&#62;",
    "{{ 7 * 7 }}",
    "{% raw %}{{ config }}",
    "${7*7} `x` #{7*7}",
    "[Sage](javascript:alert(1)) ![x](x)",
    # formulas
    "=cmd|'/c calc'!A1",
    '=HYPERLINK("http://example.invalid/?"&B2,"Sage")',
    "+SUM(1,1)",
    "-1+2",
    "@SUM(A1)",
    "\t=1+1",
    "＝1+1",
    "'=1+1",
    "a;=1+1",
    'a"\n=1+1',
    # text that a drawing or a file takes for something else
    "$x^2$ and \\frac{1}{2}$",
    "$\\undefined{",
    "100 % \\n _soft_ *bold* ~x~ ^y^ #1",
    "../../../../etc/owned",
    "..\\..\\owned",
    "/etc/passwd",
    "C:\\owned",
    "CON.txt",
    "nul",
    ".hidden",
    "a\x1b[31mred\x07",
    "a\ufffeb\uffff",
    "x" * 4000,
    "W" * 300,
    "\u202egnp.egas\u202c",
    "\u2066a\u2069 \u200b\ufeff b",
    # the whole world
    "צמר כחול",
    "صوف أزرق",
    "🧶 Rainbow 🌈",
    "👩‍🌾 Farm",
    "毛糸 ऊन ਉੱਨ 실",
    "Z͑ͫ̓ͪ̂ͫ̽͏̴̙̤̞͉͚̯̞̠͍A̴̵̜̰͔ͫ͗͢",
    "ﷺ ﷽",
    "Cre\u0300me",
    "NaN",
    "None",
)


def hostile_stash(names=NAMES, *, also: str = "") -> bytes:
    """A stash.csv in which every name, note, fibre, lot and care is hostile.

    `also` is the head of one more column, which holds them as well.
    """
    text = io.StringIO()
    table = csv.writer(text, lineterminator="\n")
    head = ["name", "colours", "grams", "metres_per_100g", "notes", "fibre", "lot"]
    table.writerow([*head, "care", *([also] if also else [])])
    for k, name in enumerate(names):
        red, green, blue = (37 * k) % 256, (91 * k + 40) % 256, (13 * k + 99) % 256
        colours = f"#{red:02x}{green:02x}{blue:02x}"
        row = [name, colours, 20 + k % 30, 400, name, name, name, name]
        table.writerow([*row, *([name] if also else [])])
    return text.getvalue().encode()
