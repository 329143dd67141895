"""A part of the screen as a widget: it paints the view into the room it has, and only when it has changed."""

from collections.abc import Callable

from textual.content import Content
from textual.widget import Widget

from kilnctl.dashboard.view_state import View

Paint = Callable[[View, int, int], Content]


class Panel(Widget):
    """A part of the screen; one that `grows` takes as many rows as it paints.

    One that `opens` a page does so on a click.
    One that `fades` is drawn in one quiet grey while the picture is old; dimmed colours could not be read.
    """

    DEFAULT_CSS = "Panel { height: 1fr; width: 1fr; }"

    def __init__(
        self, paint: Paint, *, id: str, grows: bool = False, fades: bool = False, opens: int = 0
    ) -> None:
        super().__init__(id=id)
        self._opens = opens
        self._paint, self._grows, self._fades = paint, grows, fades
        self._view: View | None = None
        self._painted = Content("")

    def show(self, view: View) -> None:
        """Show a view; paints only what has changed."""
        self._view = view
        painted = self._content()
        if painted != self._painted or painted.spans != self._painted.spans:
            self._painted = painted
            self.refresh(layout=self._grows)

    async def on_click(self) -> None:
        """Open the page that says more."""
        if self._opens:
            await self.run_action(f"app.page({self._opens})")

    def _content(self) -> Content:
        if self._view is None or not self.display or not self._parent_shown():
            return Content("")
        painted = self._paint(self._view, max(1, self.size.width), max(1, self.size.height))
        return Content.styled(painted.plain, "$quiet") if self._fades and self._view.grey else painted

    def _parent_shown(self) -> bool:
        return not isinstance(self.parent, Widget) or self.parent.display

    def render(self) -> Content:
        """Return what is shown."""
        return self._content()


def flowing(paint: Callable[[View, int], Content]) -> Paint:
    """Return a painter that needs to know the width only."""
    return lambda v, width, height: paint(v, width)
