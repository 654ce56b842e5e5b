"""What one adapter is made from, looked up once: motor, gearbox, their faces in the plate's frame, bolts, stock."""

from dataclasses import dataclass, replace
from functools import cached_property

from baywright.adapter.file import pattern_of
from baywright.adapter.fit import is_hole_class
from baywright.adapter.thread import Thread, thread_of
from baywright.finding import CannotBuild
from baywright.job.adapters import AdapterAsk, GearboxRow, MotorRow
from baywright.job.catalogue import Catalogue
from baywright.job.shop import Material
from baywright.shape.pattern import Pattern, Pilot

# Plates thinner than this are no adapter plates, mm: common practice, no source.
_THINNEST = 6.0
# Shear strength of aluminium as a share of its tensile strength, where no table gives it (EN 1999-1-1 uses 0.6).
_SHEAR_SHARE = 0.6


@dataclass(frozen=True, eq=False)
class Given:
    """The rows that an adapter names.

    Attributes:
        name: the adapter's name in the job.
        ask: what was asked.
        catalogue: the shop's tables.
    """

    name: str
    ask: AdapterAsk
    catalogue: Catalogue

    @cached_property
    def motor(self) -> MotorRow:
        """The motor."""
        row = self.catalogue.row("motor", self.ask.motor)
        assert isinstance(row, MotorRow)
        return row

    @cached_property
    def gearbox(self) -> GearboxRow:
        """The gearbox."""
        row = self.catalogue.row("gearbox", self.ask.gearbox)
        assert isinstance(row, GearboxRow)
        return row

    @cached_property
    def motor_face(self) -> Pattern:
        """The motor's face, seen from the motor, as the motor stands at 0 degrees."""
        face = pattern_of(self.catalogue, self.motor.pattern).seen("motor")
        return self.counterpart(face) if self.motor.counterpart else face

    @cached_property
    def gearbox_face(self) -> Pattern:
        """The gearbox's face, seen from the motor."""
        row = self.gearbox
        face = pattern_of(self.catalogue, row.pattern).seen("motor")
        face = self.counterpart(face) if row.counterpart else face
        if row.pilot is None:
            return face
        own = row.pilot
        pilot = Pilot(male=own.male, diameter=own.diameter, fit=own.fit, height=own.height, limits=own.limits)
        return replace(face, pilot=pilot)

    def counterpart(self, face: Pattern) -> Pattern:
        """Return the face that bolts onto a face: tapped holes become through holes, a recess a spigot, and back."""
        holes = []
        for hole in face.holes:
            if hole.kind == "tapped":
                wide = self.thread(hole.thread).row.clearance.medium
                holes.append(replace(hole, kind="through", diameter=wide, depth=0.0))
            elif hole.kind == "through":
                holes.append(replace(hole, kind="tapped", diameter=self.thread(hole.thread).diameter))
            else:
                holes.append(hole)
        pilot = face.pilot
        if pilot is not None:
            # The other half's own limits are not the same figures: its class is what goes with a spigot or a recess.
            pilot = replace(pilot, male=not pilot.male, fit="", limits=None)
        return replace(face, name=f"counterpart of {face.name}", holes=tuple(holes), pilot=pilot)

    def thread(self, name: str) -> Thread:
        """Return a thread by its name."""
        return thread_of(self.catalogue, name)

    @cached_property
    def material(self) -> Material:
        """The plates' material."""
        return self.catalogue.material(self.catalogue.sheet(self.ask.stock).material)

    @cached_property
    def steel(self) -> Material:
        """The bolts' material."""
        return self.catalogue.material("steel")

    @property
    def shear_strength(self) -> float:
        """The plates' least shear strength, MPa: of a table, or 0.6 of the least tensile strength."""
        known = [s.f_shear for s in self.material.strengths if s.f_shear is not None and s.basis != "typical"]
        known += [_SHEAR_SHARE * s.f_ultimate for s in self.material.strengths if s.basis != "typical"]
        known = known or [s.f_shear or _SHEAR_SHARE * s.f_ultimate for s in self.material.strengths]
        if not known:
            raise CannotBuild("stock", f"material '{self.material.name}' has no strength in the table: choose another")
        return float(min(known))

    @cached_property
    def thicknesses(self) -> tuple[float, ...]:
        """Thicknesses that the stock comes in and that make a plate, mm.

        Raises:
            CannotBuild: if the stock has none so thick.
        """
        found = tuple(t for t in sorted(self.catalogue.sheet(self.ask.stock).thicknesses) if t >= _THINNEST)
        if not found:
            raise CannotBuild("stock", f"stock '{self.ask.stock}' has no plate of {_THINNEST:g} mm or more")
        return found

    def bolt_class(self, thread: Thread) -> str:
        """Return the property class of a thread's bolts: as asked, or the shop's usual one.

        Raises:
            CannotBuild: if the thread's table does not have the class that is asked.
        """
        if self.ask.bolt_class is None or self.ask.bolt_class not in thread.row.proof_load:
            usual = thread.usual_class()
            # A metric class says nothing of a unified bolt beside it.
            asked = self.ask.bolt_class
            if asked is not None and (asked.startswith("grade") == usual.startswith("grade")):
                known = ", ".join(thread.row.proof_load)
                raise CannotBuild("bolt_class", f"{thread.name} bolts come in class {known}, not '{asked}'")
            return usual
        return self.ask.bolt_class

    def check(self) -> None:
        """Raise CannotBuild for every name that is not in the tables and every class that is of the wrong kind."""
        for key in ("pilot_fit", "dowel_hole"):
            value = getattr(self.ask, key)
            if not is_hole_class(self.catalogue, value):
                raise CannotBuild(key, f"'{value}' is no hole class of shared/fits.toml, like H7")
        pin = self.ask.dowel_pin
        if pin not in self.catalogue.raw["fit"] or is_hole_class(self.catalogue, pin):
            raise CannotBuild("dowel_pin", f"'{pin}' is no shaft class of shared/fits.toml, like m6")
        if self.ask.indicated is not None and len(self.gearbox_face.dowels) < 2:
            raise CannotBuild("indicated", "the gearbox's face has no two dowels that could be reamed: leave it out")
