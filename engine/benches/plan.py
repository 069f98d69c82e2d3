"""The plan of the bench as a person would script it: Markdown by markdown-it-py, quantities by pint, calculations by Python.

Prints the median time in milliseconds of the whole: Markdown read and rendered, every calculation compiled and run, every
question answered and put into the page. Usage: plan.py [BLOCKS [ROUNDS]]
"""

import sys
import time

import pint
from markdown_it import MarkdownIt

PROSE = (
    "The negative is read twice and the better of the two is kept; the lab holds the file until the proof "
    "is back, and nothing large is made before that. The shop is told in writing."
)


def plan(blocks):
    text = "# Weir, Low Water\n"
    for block in range(blocks):
        text += (
            f"\n## Part {block}\n\n{PROSE}\n\n```workings\nwide{block} = given('Width {block}', {24 + block} * inch)\n"
            f"tall{block} = wide{block} * 24 / 72\nppi{block} = 7200 * pixel / wide{block}\n"
            f"edge{block} = 2 * (wide{block} + tall{block}) + 8 * 0.75 * inch\n"
            f"must(ppi{block} >= 40 * pixel / inch, 'Part {block} stays sharp')\n```\n\n"
            f"It is `? tall{block}` high at `? ppi{block}`.\n"
        )
    return text


def once(text, units, markdown):
    rules, givens = [], {}
    names = {
        "inch": units.inch,
        "pixel": units.pixel,
        "given": lambda what, value: givens.setdefault(what, value),
        "must": lambda kept, what: rules.append((what, bool(kept))),
    }
    tokens = markdown.parse(text)
    for token in tokens:
        if token.type == "fence" and token.info == "workings":
            exec(compile(token.content, "plan", "exec"), names)
    for token in tokens:
        for child in token.children or []:
            if child.type == "code_inline" and child.content.startswith("? "):
                value = eval(compile(child.content[2:], "ask", "eval"), names)
                child.content = f"{value.to_reduced_units():.4g~P}"
    return markdown.renderer.render(tokens, markdown.options, {}), rules


def main():
    blocks = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    rounds = int(sys.argv[2]) if len(sys.argv) > 2 else 30
    text, units, markdown = plan(blocks), pint.UnitRegistry(), MarkdownIt("commonmark")
    took = []
    for _ in range(rounds):
        began = time.perf_counter()
        page, rules = once(text, units, markdown)
        took.append(time.perf_counter() - began)
    assert len(rules) == blocks and all(kept for _, kept in rules) and "8 in" in page
    print(sorted(took)[len(took) // 2] * 1000)


main()
