"""Lines that leave the main line, in words: the outside tap that is not treated, the hot line, the drinking tap."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from service.installs.models import InstalledStage
from sizing.engine.design import Branch
from sizing.engine.display import show
from sizing.engine.storage import from_data

OUTSIDE = "outside"


@dataclass(frozen=True)
class BranchWords:
    """A branch as papers name it: ``name`` and whether it is treated, where it leaves, what the installer does about
    it, and what the household is told of it."""

    code: str
    name: str
    where: str
    todo: str
    told: str


def branches_in(stages: Iterable[InstalledStage]) -> tuple[Branch, ...]:
    """The branches of the trains some stages were installed from, each once; stages need install, quote and train."""
    installs = {stage.install_id: stage.install for stage in stages if stage.install is not None}
    found: dict[str, Branch] = {}
    for install in installs.values():
        train = install.quote.train if install.quote is not None else None
        for told in train.data.get("branches", ()) if train is not None else ():
            branch = from_data(Branch, told)
            found.setdefault(branch.code, branch)
    return tuple(found.values())


def is_outside(branches: Iterable[Branch]) -> bool:
    """Whether an outside tap leaves ahead of the treatment."""
    return any(branch.code == OUTSIDE for branch in branches)


def branch_words(branches: Sequence[Branch], system: str) -> tuple[BranchWords, ...]:
    """Each branch in words, in the reader's units."""
    return tuple(_WORDS[branch.code](branch, system) for branch in branches)


def _outside(branch: Branch, system: str) -> BranchWords:
    name = ngettext("Outside tap: not treated", "%(taps)d outside taps: not treated", branch.taps)
    where = _("Branches off behind the pressure tank, ahead of every stage; up to %(flow)s beside the house.")
    return BranchWords(
        branch.code,
        name % {"taps": branch.taps},
        where % {"flow": show(branch.flow_l_min, "flow", system)},
        _(
            "Hang a tag “Not treated, do not drink” at each tap and fit a vacuum breaker; no link from the hose line "
            "to the treated side."
        ),
        _("Raw water as it comes from the source. Nobody drinks from it; a tag at each tap says so."),
    )


def _hot(branch: Branch, system: str) -> BranchWords:
    return BranchWords(
        branch.code,
        _("Hot line: softened"),
        _("Leaves behind the last stage of the main line, ahead of the heater; about %(volume)s a day.")
        % {"volume": show(branch.litres_day, "volume", system)},
        _(
            "The softener stands on this line alone; cold taps stay hard and gain no sodium. No link from the hot to "
            "the cold side behind it."
        ),
        _("Cold taps stay hard and gain no sodium: drink and cook with cold water."),
    )


def _tap(branch: Branch, system: str) -> BranchWords:
    told = _("Water for drinking and cooking comes from this tap; the other cold taps get what the main line gives.")
    return BranchWords(
        branch.code,
        _("Drinking tap: polished"),
        _("Leaves behind the last stage of the main line; about %(volume)s a day.")
        % {"volume": show(branch.litres_day, "volume", system)},
        told,
        told,
    )


_WORDS: dict[str, Callable[[Branch, str], BranchWords]] = {"outside": _outside, "hot": _hot, "tap": _tap}
