"""Fake pages and a fake printer, and the contract of every printer."""

from dataclasses import dataclass, field

from assistant.errors import DeviceError
from assistant.ports import Dots, Pages, Printer


@dataclass
class DrawnPages:
    """ports.Pages of given dots."""

    pages: list[Dots]
    title: str = "test"
    pdf: bytes = b"%PDF-1.7"
    media: str = "A4"
    is_cut_label: bool = False

    def dots(self, per_mm: float) -> list[Dots]:  # noqa: ARG002
        """The given ones, however dense they are wanted."""
        return self.pages


@dataclass
class FakePrinter:
    """ports.Printer that keeps what it got; `broken`: why it prints nothing."""

    broken: str = ""
    printed: list[Pages] = field(default_factory=list)

    def look(self) -> str:
        """Whether it is there."""
        self._check()
        return "is there"

    def print_pages(self, pages: Pages) -> None:
        """Keep the pages."""
        self._check()
        self.printed.append(pages)

    def _check(self) -> None:
        if self.broken:
            raise DeviceError(self.broken)


def check_printer(works: Printer, broken: Printer, pages: Pages) -> None:
    """Hold a printer that works and one that does not to the contract; AssertionError otherwise."""
    said = works.look()
    assert said, "look says in words that it is there"
    assert "\n" not in said, "look says one line"
    works.print_pages(pages)
    works.print_pages(pages)
    for act in (broken.look, lambda: broken.print_pages(pages)):
        said = ""
        try:
            act()
        except DeviceError as error:
            said = str(error)
        assert said, "a printer that does not work says so"
        assert "\n" not in said, "what is wrong is one line"
