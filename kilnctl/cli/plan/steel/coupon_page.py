"""The command that plans and reads the coupons of an unknown steel: steel coupons."""

from pathlib import Path
from typing import Literal

from kilnctl.cli.terminal.options import refuse_unused
from kilnctl.cli.terminal.tell import tell
from kilnctl.config import home
from kilnctl.config.home import known
from kilnctl.config.oven import Oven, find_oven, load_oven
from kilnctl.errors import ConfigError, KilnctlError, ProfileError
from kilnctl.profile.segments import Profile
from kilnctl.profile.write import profile_toml
from kilnctl.units import say_mm

Bath = Literal["fast oil", "medium oil", "water or brine", "plates"]


def coupons(
    name: str,
    /,
    *,
    section: str | None = None,
    medium: Bath | None = None,
    furnace: str | None = None,
    oven: str | None = None,
) -> int:
    """Plan trials of an unknown steel on small pieces, or read their results.

    Parameters
    ----------
    name
        What you call the steel ("yard-spring").
    section
        Thickness of the pieces ("4 mm"); the first time.
    medium
        The bath to try; left out, fast oil.
    furnace
        The furnace for the heats, by file or name; left out, the only one that can.
    oven
        The oven for the temper trials; left out, the only one that can.
    """
    from kilnctl.treatment.coupons import HOW_TO_READ, coupon_text, first_plan, load_coupons, reading

    name = _plain("-".join(name.split()))
    path = home.home() / "coupons" / f"{name}.toml"
    new = not path.is_file()
    if new:
        if section is None:
            raise ProfileError(f'no coupons of "{name}" yet: say how thick the pieces are, --section "4 mm"')
        _refuse_known(name)
        made = first_plan(name, section, medium or "fast oil")
        ovens = _chosen(furnace, "hardening"), _chosen(oven, "tempering")  # refused before a file is written
        _save(coupon_text(made), path)
        print(f"{path} written: type your results into it.")
    else:
        given = {"section": section, "medium": medium, "furnace": furnace, "oven": oven}
        refuse_unused(f"the trials of {name} are planned already, in {path}", **given)
    made = load_coupons(str(path))
    tell(f"{made.name}, {say_mm(made.section_mm)}")
    for line in _sheet(path, *ovens) if new else ():
        tell(line)
    for line in (*reading(made), *(HOW_TO_READ if not made.proven else ())):
        tell(f"- {line}")
    return 0


def _plain(name: str) -> str:
    if not name or not all(c.isalnum() or c in "-_" for c in name) or len(name) > 60:
        raise ProfileError("name the steel with letters, digits and hyphens, like yard-spring")
    return name


def _refuse_known(name: str) -> None:
    """Raise ProfileError for a steel of which it is known that coupons are not the way to it."""
    from kilnctl.treatment.steel.grade_names import card_of
    from kilnctl.treatment.steel.no_card import why_no_coupons

    card = card_of(name, known("steels"))
    if card is not None:
        raise ProfileError(
            f"{card.stem} has a card: `kilnctl steel show {card.stem}`. Where you doubt that the bar is of "
            "it, give it a name of its own, like yard-spring"
        )
    if why := why_no_coupons(name):
        raise ProfileError(f'no coupons of "{name}": {why}')


def _save(text: str, path: Path) -> None:
    from kilnctl.cli.terminal.by_asking import save

    save(text, path)


def _sheet(path: Path, furnace: Oven, oven: Oven) -> list[str]:
    """Write the two profiles and return what is to be done, heat by heat."""
    from kilnctl.treatment.coupon_profiles import harden_profile, temper_profile
    from kilnctl.treatment.coupons import load_coupons
    from kilnctl.units import say_point

    made = load_coupons(str(path))
    plans = (
        (harden_profile(made, furnace), Path(f"{made.name}-harden.toml")),
        (temper_profile(made, oven), Path(f"{made.name}-temper.toml")),
    )
    lines = [f"  coupon from {say_point(c.at_c)} into {c.medium}" for c in made.coupon]
    lines += [f"  a piece of the best one tempered at {say_point(t.at_c)}" for t in made.temper]
    return lines + [_written(profile, target) for profile, target in plans]


def _written(profile: Profile, target: Path) -> str:
    _save(profile_toml(profile), target)
    return f"{target} written for {profile.oven}: kilnctl plan {target}"


def _chosen(name: str | None, use: str) -> Oven:
    if name is not None:
        return find_oven(name)
    ovens = []
    for path in home.known("ovens").values():
        try:
            ovens.append(load_oven(path))
        except KilnctlError:
            continue  # a file that is wrong is no candidate; `oven list` says so
    fitting = [found for found in ovens if found.use == use]
    own = [found for found in fitting if not found.simulated] or fitting
    if len(own) != 1:
        option = "--furnace" if use == "hardening" else "--oven"
        raise ConfigError(f"say which one: {option} {' | '.join(o.name for o in own) or 'FILE'}")
    return own[0]
