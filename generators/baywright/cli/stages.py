"""The commands by the stage of the job that they serve: the order in which `baywright --help` tells them."""

from typing import Any

from typer.core import TyperGroup

STAGES = {
    "Begin": ("new", "parts"),
    "Measure": ("scan", "pattern"),
    "Choose and place": ("fill", "place", "clear", "wayin", "mockup", "family", "variants"),
    "Check": ("review", "why"),
    "The car": ("car", "split", "moved"),
    "Make": ("build", "check", "compare"),
}


class ByStage(TyperGroup):
    """The group of all commands, listed by stage with their first sentences whole."""

    def list_commands(self, ctx: Any) -> list[str]:
        """Return the commands in the order of the job."""
        told = [name for names in STAGES.values() for name in names]
        return [*told, *(name for name in super().list_commands(ctx) if name not in told)]

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """Write the commands, a section a stage."""
        for stage, names in STAGES.items():
            found = [(name, self.get_command(ctx, name)) for name in names]
            with formatter.section(stage):
                formatter.write_dl([(name, one.get_short_help_str(limit=200)) for name, one in found if one])
