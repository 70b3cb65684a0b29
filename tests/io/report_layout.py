"""The report as a browser lays it out: nothing wider than the page at 360 and 1200 px, text with a
contrast of at least 4.5 to 1 (WCAG 2.1, 1.4.3; formula of its relative luminance) on light and dark
ground. Ends with 77, skipped, where there is no Chromium.
Arguments: the program, the program that writes a sample, the folder of the sources."""

import html
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile

program, _, top = sys.argv[1:4]
browser = next((path for path in ("/usr/bin/chromium", shutil.which("chromium")) if path and os.path.exists(path)), None)
if not browser:
    print("skipped: Chromium is not installed, so the layout of the report was not looked at")
    sys.exit(77)
folder = tempfile.mkdtemp(prefix="downsurge-test-")
problems = []

# Runs in the page: what sticks out sideways, and text whose contrast is too small.
LOOK = """
<script>
addEventListener("load", () => {
  const words = e => e.tagName + "." + e.className + ": " + e.textContent.trim().slice(0, 40);
  const parts = c => { const m = c.match(/[\\d.]+/g).map(Number); return m.length > 3 ? m : [...m, 1]; };
  const channel = v => { v /= 255; return v <= 0.03928 ? v / 12.92 : Math.pow((v + 0.055) / 1.055, 2.4); };
  const light = c => 0.2126 * channel(c[0]) + 0.7152 * channel(c[1]) + 0.0722 * channel(c[2]);
  const contrast = (a, b) => { const [x, y] = [light(a), light(b)].sort((p, q) => q - p); return (x + 0.05) / (y + 0.05); };
  const ground = e => { for (; e; e = e.parentElement) {
      const c = parts(getComputedStyle(e).backgroundColor); if (c[3] > 0.99) return c; }
    return matchMedia("(prefers-color-scheme: dark)").matches ? [0, 0, 0, 1] : [255, 255, 255, 1]; };
  const wide = document.documentElement.clientWidth, found = {width: wide, scroll: document.documentElement.scrollWidth,
    dark: matchMedia("(prefers-color-scheme: dark)").matches, out: [], faint: [], seen: 0, boxes: 0, letters: 0, cards: []};
  for (const e of document.querySelectorAll("body *")) {
    if (e.closest("svg")) {
      if (e.matches("text")) {
        found.letters++;
        const ratio = contrast(parts(getComputedStyle(e).fill), ground(e));
        if (ratio < 4.5) found.faint.push(ratio.toFixed(2) + " " + words(e));
      }
      continue;
    }
    const box = e.getBoundingClientRect();
    if (e.matches(".scroll")) found.boxes += e.scrollWidth > e.clientWidth;
    if (!e.parentElement.closest(".scroll") && (box.right > wide + 0.5 || box.left < -0.5)) found.out.push(words(e));
    if (![...e.childNodes].some(n => n.nodeType === 3 && n.data.trim())) continue;
    const ratio = contrast(parts(getComputedStyle(e).color), ground(e));
    found.seen++;
    if (ratio < 4.5) found.faint.push(ratio.toFixed(2) + " " + words(e));
  }
  for (const e of document.querySelectorAll("figure")) found.cards.push(ground(e).slice(0, 3).join());
  const pre = document.createElement("pre");
  pre.id = "found"; pre.textContent = JSON.stringify(found); document.body.append(pre);
});
</script>
"""


def claim(is_true, text):
    if not is_true:
        problems.append(text)


def look(path, width, is_dark):
    flags = ["--blink-settings=preferredColorScheme=0"] if is_dark else ["--blink-settings=preferredColorScheme=1"]
    with tempfile.TemporaryDirectory(prefix="downsurge-browser-") as profile:
        # A window of the browser is never narrower than some 500 px; a frame may be.
        done = subprocess.run([browser, "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars", f"--user-data-dir={profile}",
                               "--allow-file-access-from-files", *flags, "--window-size=1400,2000",
                               "--virtual-time-budget=20000", "--dump-dom", f"file://{frame(path, width)}"],
                              capture_output=True, text=True, timeout=200)
    told = re.search(r'<pre id="found">(.*?)</pre>', done.stdout, re.S)
    return json.loads(html.unescape(told[1])) if told else None


def frame(path, width):
    with open(path, encoding="utf-8") as file:
        text = file.read()
    inner, outer = path + f".{width}.html", path + f".{width}-frame.html"
    with open(inner, "w", encoding="utf-8") as file:
        file.write(text.replace("</body>", LOOK + "</body>"))
    with open(outer, "w", encoding="utf-8") as file:
        file.write(f"""<!DOCTYPE html><meta name="color-scheme" content="light dark"><body>
<iframe id="page" src="{os.path.basename(inner)}" style="width:{width}px;height:1500px;border:0"></iframe>
<script>
addEventListener("load", () => {{ const wait = setInterval(() => {{
  const found = document.getElementById("page").contentDocument.getElementById("found");
  if (found) {{ clearInterval(wait); const pre = document.createElement("pre"); pre.id = "found";
    pre.textContent = found.textContent; document.body.append(pre); }} }}, 50); }});
</script>""")
    return outer


case = os.path.join(top, "cases", "alder-beck.yaml")
results = [os.path.join(folder, name) for name in ("choice.h5", "surge.h5", "hours.h5")]
for command, path in zip((["choose", case, "--without-surge"], ["surge", case], ["fill", case, "--for", "24 h"]), results):
    subprocess.run([program, *command, "--output", path, "--quiet"], check=True)
page = os.path.join(folder, "page.html")
subprocess.run([program, "report", *results, "--output", page, "--quiet"], check=True)

for width in (360, 1200):
    for is_dark in (False, True):
        name = f"{width} px, {'dark' if is_dark else 'light'}"
        found = look(page, width, is_dark)
        if not found:
            problems.append(f"{name}: the browser told nothing")
            continue
        claim(found["width"] == width, f"{name}: the page was {found['width']} px wide")
        claim(found["dark"] == is_dark, f"{name}: the ground was not as asked")
        claim(found["scroll"] <= width, f"{name}: {found['scroll']} px of page")
        claim(not found["out"], f"{name}: sticks out: {found['out'][:5]}")
        claim(found["seen"] > 300, f"{name}: only {found['seen']} texts were seen")
        claim(found["letters"] > 100 or not shutil.which("gnuplot"), f"{name}: only {found['letters']} words in pictures")
        claim(not found["faint"], f"{name}: too faint: {found['faint'][:5]}")
        claim(set(found["cards"]) <= {"255,255,255"}, f"{name}: a picture on {set(found['cards'])}")

# On paper: A4 (ISO 216: 210 by 297 mm, in points of 1/72 inch), and not a page for each picture.
paper = os.path.join(folder, "page.pdf")
with tempfile.TemporaryDirectory(prefix="downsurge-browser-") as profile:
    subprocess.run([browser, "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer", f"--user-data-dir={profile}",
                    f"--print-to-pdf={paper}", f"file://{page}"], capture_output=True, timeout=200)
with open(paper, "rb") as file:
    body = file.read()
sizes = {tuple(round(float(v)) for v in box.split()) for box in re.findall(rb"/MediaBox \[([^]]*)\]", body)}
claim(sizes == {(0, 0, 595, 842)}, f"the paper is {sizes}")
pages = len(re.findall(rb"/Type /Page\b", body))
claim(8 <= pages <= 30, f"{pages} pages of paper")

# The look itself must be able to fail: a page made wrong on purpose.
wrong = os.path.join(folder, "wrong.html")
with open(wrong, "w", encoding="utf-8") as file:
    file.write('<!DOCTYPE html><body style="background:#fff"><p style="width:900px;color:#999">faint and wide</p></body>')
found = look(wrong, 360, False)
claim(found and found["out"] and found["faint"], "a page too wide and too faint was taken for good")

shutil.rmtree(folder)
for problem in problems:
    print(problem)
sys.exit(1 if problems else 0)
