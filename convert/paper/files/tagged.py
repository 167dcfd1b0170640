"""Tags for a PDF: which words are headings, paragraphs, list items, and what a picture shows, in reading order.

ISO 32000-1, 14.7 and 14.8: marked content in the pages, a tree of structure elements beside them.
"""

from dataclasses import dataclass, field
from typing import Any, Literal

from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFName, PDFString
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

Role = Literal["H1", "H2", "H3", "P", "LI", "Figure"]


@dataclass(slots=True, kw_only=True, eq=False)
class Element:
    """One element of the document and where its content stands: (page number, number on that page).

    ``alt`` says what a picture shows; ``text`` are an element's words without the breaks between its lines.
    """

    role: Role
    alt: str = ""
    text: str = ""
    places: list[tuple[int, int]] = field(default_factory=list)


class TaggedCanvas(Canvas):
    """A canvas that numbers marked content page by page and writes the tree when it is saved."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._elements: list[Element] = []
        self._marked: list[list[Element]] = [[]]
        add_page = self._doc.addPage

        def add(page: Any) -> None:
            page.__NoDefault__ = [*page.__NoDefault__, "StructParents", "Tabs"]
            page.StructParents = len(self._marked) - 1
            page.Tabs = PDFName("S")
            add_page(page)
            self._marked.append([])

        self._doc.addPage = add

    def begin(self, element: Element) -> None:
        """What is drawn from here on belongs to the element."""
        if not element.places:
            self._elements.append(element)
        page = self._marked[-1]
        element.places.append((len(self._marked) - 1, len(page)))
        self._code.append(f"/{element.role} <</MCID {len(page)}>> BDC")
        page.append(element)

    def begin_artifact(self) -> None:
        """What is drawn from here on is no part of the text (a running foot)."""
        self._code.append("/Artifact BMC")

    def end(self) -> None:
        """The marked content ends."""
        self._code.append("EMC")

    def save(self) -> None:
        """Write the tree, then the file."""
        if self._code:
            self.showPage()
        self._write_tree()
        super().save()

    def _write_tree(self) -> None:
        document = self._doc
        pages = [document.Reference(page) for page in document.Pages.pages]
        root = PDFDictionary({"Type": PDFName("StructTreeRoot")})
        root_ref = document.Reference(root)
        whole = PDFDictionary({"Type": PDFName("StructElem"), "S": PDFName("Document"), "P": root_ref})
        whole_ref = document.Reference(whole)
        refs = {}
        for element in self._elements:
            refs[id(element)] = document.Reference(_structure(element, whole_ref, pages))
        whole.dict["K"] = PDFArray([refs[id(element)] for element in self._elements])
        numbers: list[Any] = []
        for number, marked in enumerate(self._marked[: len(pages)]):
            numbers += [number, document.Reference(PDFArray([refs[id(element)] for element in marked]))]
        root.dict["K"] = PDFArray([whole_ref])
        root.dict["ParentTree"] = document.Reference(PDFDictionary({"Nums": PDFArray(numbers)}))
        root.dict["ParentTreeNextKey"] = len(pages)
        document.Catalog.StructTreeRoot = root
        document.Catalog.MarkInfo = PDFDictionary({"Marked": "true"})


def _structure(element: Element, parent: Any, pages: list[Any]) -> PDFDictionary:
    content = [
        PDFDictionary({"Type": PDFName("MCR"), "Pg": pages[page], "MCID": number}) for page, number in element.places
    ]
    entries = {"Type": PDFName("StructElem"), "S": PDFName(element.role), "P": parent, "K": PDFArray(content)}
    if element.alt:
        entries["Alt"] = PDFString(element.alt)
    if element.text:
        entries["ActualText"] = PDFString(element.text)
    return PDFDictionary(entries)


class Tagged(Flowable):
    """A flowable drawn as one element, however many pages it is split over."""

    def __init__(
        self, inner: Flowable, role: Role, *, alt: str = "", text: str = "", element: Element | None = None
    ) -> None:
        super().__init__()
        self.inner = inner
        self.element = element or Element(role=role, alt=alt, text=text)
        self.keepWithNext = role in ("H1", "H2", "H3")

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """As the flowable inside."""
        self.width, self.height = self.inner.wrapOn(self.canv, width, height)
        return self.width, self.height

    def split(self, width: float, height: float) -> list[Flowable]:
        """The flowable inside, split; its parts stay one element."""
        parts = self.inner.splitOn(self.canv, width, height)
        return [Tagged(part, self.element.role, element=self.element) for part in parts]

    def getSpaceBefore(self) -> float:
        """As the flowable inside."""
        return float(self.inner.getSpaceBefore())

    def getSpaceAfter(self) -> float:
        """As the flowable inside."""
        return float(self.inner.getSpaceAfter())

    def draw(self) -> None:
        """Draw the flowable inside between its marks."""
        self.canv.begin(self.element)
        self.inner.drawOn(self.canv, 0, 0)
        self.canv.end()
