"""The pages: which there are, in which order, and where each is found."""

from dataclasses import dataclass
from pathlib import Path

import streamlit as st

FOLDER = Path(__file__).with_name("app_pages")


@dataclass(frozen=True, slots=True)
class Page:
    """One page; with `/api/v1/` in front, the address of a listed one is its data."""

    title: str
    address: str
    is_listed: bool = True  # else reached from another page, with its words

    def made(self) -> st.Page:
        """Return the page as the page server takes it."""
        return st.Page(
            self.file,
            title=self.title,
            url_path=self.address,
            visibility="visible" if self.is_listed else "hidden",
        )

    @property
    def file(self) -> Path:
        """The script of the page."""
        return FOLDER / f"{self.address}.py"


PAGES = (
    Page("Today", "today"),
    Page("Recurring failures", "watch"),
    Page("Failure modes", "modes"),
    Page("Bench", "suggest"),
    Page("Time to failure", "life"),
    Page("Data quality", "quality"),
    Page("Suggestion report", "suggestions"),
    Page("Returns", "cases", is_listed=False),
    Page("One return", "case", is_listed=False),
    Page("One unit", "unit", is_listed=False),
    Page("Like cases", "like", is_listed=False),
)


def main() -> None:
    """Show the page that the address names; without a name, the first."""
    st.set_page_config(page_title="mendfleet", layout="wide")
    pages = [page.made() for page in PAGES]

    def start() -> None:
        st.switch_page(pages[0])

    # The page server gives the start page no address of its own, and every page here
    # has one: the start is a page that only leads on.
    first = st.Page(start, title="Start", default=True, visibility="hidden")
    st.navigation([first, *pages], position="top").run()


if __name__ == "__main__":
    main()
