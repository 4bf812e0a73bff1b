"""Which photo is open on the photo desk, and its regions kept beside it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from kit.errors import Fault, KitError, shorten
from kit.files import digest, read_bytes, save_all, save_text
from kit.files.folders import file_name
from kit.photo import Photo, Region, read_photo, read_regions
from kit.photo.image import photo_png
from kit.photo.marks import PHOTOS, kinds_marked, photos_in, regions_path
from kit.photo.regions import Marks, regions_csv
from kit.widgets.later import Later
from kit.widgets.lines import Lines, messages_beside
from kit.widgets.photo.controls import MOST_UPLOAD_MB, PhotoControls
from kit.widgets.stash.desk import StashDesk

UPLOADED_PX = 3000  # longest side of an uploaded photo's cleaned copy


class PhotoFiles(PhotoControls):
    """The photos of the stash desk's blanket, one of them open.

    Regions are saved as they change, in NAME-regions.csv; a file that another program
    has changed meanwhile is left alone, one that is faulty is kept as .bak.
    """

    def __init__(self, stash: StashDesk) -> None:
        self.stash = stash
        self.shot: Photo | None = None
        self.path: Path | None = None
        self._seen = ""  # digest of the regions file when it was read or saved
        self._faulty = self._unsaved = False
        self._saving = Later(0.3)
        super().__init__(stash.undo)

    def _on(
        self, control: Any, trait: str, lines: Lines, act: Callable[[], None]
    ) -> None:
        control.observe(self._calm(lines, act), trait)

    def _calm(self, lines: Lines, act: Callable[[], None]) -> Callable[..., Any]:
        """A callback for a control: what is wrong is told in `lines`."""

        def told(*_: Any) -> None:
            if not self._filling:
                act()

        return messages_beside(lines)(told)

    # --- which photo ---

    @property
    def folder(self) -> Path:
        """Where this blanket's photos lie."""
        return self.stash.folder / PHOTOS

    def _look(self) -> None:
        """List the photos; open the one that was, else the first."""
        self._save()
        there = photos_in(self.stash.folder)
        path = self.path if self.path in there else next(iter(there), None)
        self._list(path)
        if path is not None:
            self._open(path)
            return
        self.shot = self.path = None
        self._put_up(b"", "", (4, 3), Marks())
        self.messages.say(
            [f"No photo yet. Copy one into {self.folder}, then look again."]
        )

    def _list(self, path: Path | None) -> None:
        with self._set_by_program():
            there = [(one.name, one) for one in photos_in(self.stash.folder)]
            self.photo.options = there or [("no photo yet", None)]
            self.photo.value = path

    def _chosen(self) -> None:
        if self.photo.value is not None and self.photo.value != self.path:
            self._save()
            self._open(self.photo.value)

    def _open(self, path: Path) -> None:
        """Read a photo and its regions; where it cannot be, what was open stays."""
        try:
            shot = read_photo(read_bytes(path), name=path.name)
            png = photo_png(shot)
        except KitError:
            self._list(self.path)
            raise
        self.shot, self.path = shot, path
        marks, told = self._kept_marks(path)
        self._put_up(png, path.name, shot.full_size, marks)
        self.messages.say([f"Open: {path}", *shot.sentences, *told])

    def _uploaded(self) -> None:
        """Keep a cleaned copy of a small upload in photos/: pixels and nothing else."""
        if not self.upload.value:
            return
        sent = self.upload.value[0]
        name, data = str(sent["name"]), bytes(sent["content"])
        with self._set_by_program():
            self.upload.value = ()
        if len(data) > MOST_UPLOAD_MB * 1e6:
            says = (
                f'"{shorten(name)}" has {len(data) / 1e6:.1f} MB; an upload may have '
            )
            advice = f"Copy it into {self.folder}, then look for photos again."
            fault = Fault("too_big", says=f"{says}{MOST_UPLOAD_MB} MB", advice=advice)
            raise KitError(fault)
        shot = read_photo(data, name=shorten(name))
        path = _free(self.folder, file_name(Path(name).stem, otherwise="photo"))
        save_all(self.folder, {path.name: photo_png(shot, longest=UPLOADED_PX)})
        self._save()
        self._list(path)
        self._open(path)

    # --- its regions ---

    def _put_up(
        self, png: bytes, title: str, size: tuple[int, int], marks: Marks
    ) -> None:
        """Show a photo with its marks; no colours are known yet."""
        with self._set_by_program(), self.picker.hold_sync():
            self.picker.size = [int(side) for side in size]
            self.picker.picture, self.picker.title = png, title
            self.picker.suggested, self.picker.found = [], {}
            self.picker.chosen = ""
            self.picker.regions = _shown(marks)
            self.picker.corners = [[*corner] for corner in marks.target]
            self.picker.names = [yarn.name for yarn in self.stash.yarns]
            self.way.value = kinds_marked(marks)[0]
        self._unsaved = False

    @property
    def marks(self) -> Marks:
        """What is marked on the photo now; a target once it has four corners."""
        by_role: dict[str, list[Region]] = {"": [], "grey card": [], "white paper": []}
        for one in self.picker.regions:
            by_role[one["role"]].append(region_of(one))
        yarns, cards, papers = map(tuple, by_role.values())
        corners = tuple((x, y) for x, y in self.picker.corners)
        return Marks(yarns, cards, papers, corners if len(corners) == 4 else ())

    def _kept_marks(self, photo: Path) -> tuple[Marks, list[str]]:
        """The regions kept beside a photo; none where their file is faulty."""
        path = regions_path(photo)
        self._faulty, self._seen = False, digest(path)
        if not self._seen:
            return Marks(), []
        try:
            return read_regions(read_bytes(path), file=path.name), []
        except KitError as error:
            self._faulty = True
            kept = f"It is not used; with the next region it becomes {path.name}.bak."
            return Marks(), [*str(error).splitlines(), kept]

    def _save_soon(self) -> None:
        self._unsaved = True
        self._saving.ask(messages_beside(self.messages)(self._save))

    def _save(self) -> None:
        """Save the regions, if they have changed. Raises KitError, all as it was."""
        self._saving.forget()
        if not self._unsaved or self.path is None:
            return
        self._seen = save_text(
            regions_path(self.path),
            regions_csv(self.marks),
            keep_previous=self._faulty,
            unless_changed_since=self._seen,
        )
        self._faulty = self._unsaved = False


def region_of(one: Mapping[str, Any]) -> Region:
    """A region of the page as a value."""
    numbers = (one[key] for key in ("x", "y", "width", "height"))
    return Region(one["name"], one["shape"], *numbers)


def _shown(marks: Marks) -> list[dict[str, Any]]:
    """Marks as the page has them, numbered through."""
    by_role = {"": marks.yarns, "grey card": marks.cards, "white paper": marks.papers}
    every = [(role, one) for role, regions in by_role.items() for one in regions]
    return [
        {
            "id": f"r{k}",
            "name": one.name,
            "role": role,
            "shape": one.shape,
            "x": one.x,
            "y": one.y,
            "width": one.width,
            "height": one.height,
        }
        for k, (role, one) in enumerate(every, start=1)
    ]


def _free(folder: Path, stem: str) -> Path:
    """A name for a new PNG that no photo and no regions file has."""
    path, n = folder / f"{stem}.png", 1
    while path.exists() or regions_path(path).exists():
        n += 1
        path = folder / f"{stem}-{n}.png"
    return path
