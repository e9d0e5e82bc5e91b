"""The root of every picture: its size, its face, its title and description."""

from __future__ import annotations

from .canvas import FONT_FAMILY, Canvas, number
from .frame import Frame
from .style import Options
from .words import TITLE_LENGTH, cut


def document(content: str, size: tuple[float, float], words: tuple[str, str], options: Options) -> str:
    """A whole SVG picture around its content: ``size`` in millimetres of paper, ``words`` are title and description."""
    (width, height), (title, description) = size, words
    prefix = options.id_prefix
    root: dict[str, object] = {"xmlns": "http://www.w3.org/2000/svg"}
    if options.width_px is not None:
        root |= {"width": options.width_px, "height": number(height * options.width_px / width)}
    else:
        root |= {"width": f"{number(width)}mm", "height": f"{number(height)}mm"}
    root["viewBox"] = f"0 0 {number(width)} {number(height)}"
    canvas = Canvas()
    if options.compact:
        root |= {"aria_hidden": "true", "focusable": "false"}
    else:
        root |= {"role": "img", "aria_labelledby": f"{prefix}-title {prefix}-desc"}
        canvas.words("title", cut(title, TITLE_LENGTH), id=f"{prefix}-title")
        canvas.words("desc", description, id=f"{prefix}-desc")
    root |= {"font_family": FONT_FAMILY, "class_": "picture"}
    return element("svg", root, canvas.content() + content)


def element(tag: str, attributes: dict[str, object], content: str) -> str:
    """An element around content that is SVG already."""
    shell = Canvas()
    shell.add(tag, **attributes)
    return f"{shell.content()[:-2]}>{content}</{tag}>"


def clipped(content: str, frame: Frame, options: Options) -> str:
    """Content cut off at the window's edge."""
    name, window = f"{options.id_prefix}-window", frame.window
    shell = Canvas()
    with shell.definitions(), shell.clip(name):
        shell.add("rect", x=window.left, y=window.top, width=window.width, height=window.height)
    return shell.content() + element("g", {"clip_path": f"url(#{name})"}, content)
