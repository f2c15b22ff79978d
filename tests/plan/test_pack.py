"""The pack list holds all that the plan uses, spares, and what goes to every show, each unit once."""

from __future__ import annotations

from collections import Counter

import pytest
from scipy.stats import binom

from fieldfare.plan.pack import bin_weights, pack_list
from fieldfare.show.kit import Bin, Cable, Kit, Media, Mic, Sundry
from fieldfare.show.plan import PackLine
from fieldfare.show.show import Spares
from fieldfare.units.faults import Fault


def _mic(**more: object) -> Mic:
    mic: dict[str, object] = {
        "item": "small dynamic",
        "tags": "M-01..M-06",
        "bin": "Mic case",
        "weight_kg": 0.3,
        "kind": "small dynamic",
        "pattern": "cardioid",
        "phantom": "ignored",
        "sensitivity_mv_pa": 2,
        "impedance_ohm": 200,
    }
    return Mic.model_validate({**mic, **more})


def _cable(**more: object) -> Cable:
    cable: dict[str, object] = {
        "item": "mic lead 5 m",
        "tags": "C-01..C-40",
        "bin": "Cable trunk",
        "signal": "mic",
        "from_end": "xlr-f",
        "to_end": "xlr-m",
        "length_m": 5,
    }
    return Cable.model_validate({**cable, **more})


def _tags(lines: tuple[PackLine, ...], *, spare: bool) -> list[str]:
    return [tag for line in lines if line.spare is spare for tag in line.tags]


def test_what_is_in_use_is_packed_with_its_reason_and_spares_beside_it() -> None:
    lines = pack_list(Kit(mic=(_mic(faulty={"M-03": "crackles"}),)), (), {"M-01": "talkback"})
    assert [(line.tags, line.why) for line in lines] == [(("M-01",), "talkback"), (("M-02", "M-04"), "spare")]


def test_no_unit_is_packed_twice() -> None:
    kit = Kit(mic=(_mic(keep_back=5),), cable=(_cable(),))
    lines = pack_list(kit, (), {"M-01": "a", "C-01": "b"})
    counts = Counter(tag for line in lines for tag in line.tags)
    assert max(counts.values()) == 1
    assert counts["M-06"] == 1, "five kept back are all carried"


@pytest.mark.parametrize(("used", "spares"), [(0, 0), (1, 2), (20, 2), (25, 3), (38, 2)])
def test_spare_leads_are_a_tenth_and_at_least_two_of_a_length_in_use(used: int, spares: int) -> None:
    lines = pack_list(Kit(cable=(_cable(),)), (), {f"C-{n:02d}": "line" for n in range(1, used + 1)})
    assert len(_tags(lines, spare=True)) == min(spares, 40 - used)


def test_what_goes_to_every_show_goes_and_the_houses_things_stay() -> None:
    kit = Kit(
        sundry=(
            Sundry(item="gaffer tape", tags=("X-01",)),
            Sundry(item="marquee lamp", tags=("X-02",), each_show=False),
            Sundry(item="house table", tags=("X-03",), owner="house"),
        ),
        media=(Media(item="card", tags=("K-01",), kind="card", capacity_gb=64, write_mb_s=30, read_mb_s=90),),
    )
    assert _tags(pack_list(kit, (), {}), spare=False) == ["K-01", "X-01"] or _tags(
        pack_list(kit, (), {}), spare=False
    ) == ["X-01", "K-01"]


def test_bins_come_in_the_kits_order_and_things_without_a_bin_last() -> None:
    kit = Kit(
        bin=(Bin(name="Cable trunk"), Bin(name="Mic case")),
        mic=(_mic(), _mic(tags=["M-20"], bin="")),
        cable=(_cable(),),
    )
    lines = pack_list(kit, (), {"M-01": "a", "M-20": "b", "C-01": "c"})
    assert list(dict.fromkeys(line.bin for line in lines)) == ["Cable trunk", "Mic case", "no bin"]


@pytest.mark.parametrize(("each_kg", "caution"), [(0.5, ""), (3.0, "over 16 kg"), (5.0, "over 25 kg")])
def test_a_heavy_bin_carries_its_caution(each_kg: float, caution: str) -> None:
    """16 and 25 kg: HSE L23, figure 20, best zone."""
    kit = Kit(bin=(Bin(name="Mic case", empty_kg=2),), mic=(_mic(weight_kg=each_kg),))
    (weight,) = bin_weights(kit, pack_list(kit, (), {f"M-0{n}": "a" for n in range(1, 7)}))
    assert weight.weight.value == pytest.approx(2 + 6 * each_kg)
    assert weight.caution.startswith(caution)
    assert bool(weight.caution) == bool(caution)


def test_an_unknown_weight_is_never_nothing() -> None:
    kit = Kit(bin=(Bin(name="Mic case", empty_kg=2),), mic=(_mic(weight_kg=None),))
    (weight,) = bin_weights(kit, pack_list(kit, (), {"M-01": "a"}))
    assert weight.weight.formula.startswith("at least")
    assert weight.weight.sure == "estimate"


def test_spares_come_by_odds_where_habit_is_not_enough() -> None:
    """24 in use, 2 in a hundred fail: two spares last 98.82 % of nights, three 99.88 %. Arithmetic; [KofN]."""
    kit, used = Kit(cable=(_cable(),)), {f"C-{number:02}": "a" for number in range(1, 25)}

    def spare(**told: object) -> PackLine:
        lines = pack_list(kit, (), used, Spares.model_validate({"fail_odds": {"cable": 0.02}, **told}))
        return next(line for line in lines if line.spare)

    assert len(spare().tags) == 3, "a tenth, by habit"
    assert spare().odds is not None
    assert spare().odds.value == pytest.approx(99.88, abs=0.005)  # type: ignore[union-attr]
    assert len(spare(wanted_odds=0.9999).tags) == binom.ppf(0.9999, 24, 0.02) == 4
    assert len(spare(fail_odds={"mic lead 5 m": 0.2}).tags) == binom.ppf(0.95, 24, 0.2), (
        "by the item rather than the kind"
    )


def test_odds_of_what_is_not_there_are_refused() -> None:
    with pytest.raises(Fault, match=r"nothing in the kit is called 'cabel'; did you mean 'cable'\?"):
        pack_list(Kit(cable=(_cable(),)), (), {}, Spares(fail_odds={"cabel": 0.1}))


def test_a_heavy_bin_has_its_lifting_index() -> None:
    """[NIOSH94-110] by hand: 25/40 · (1 − 0.003·40) · (0.82 + 4.5/45) of 23 kg is 11.6 kg; 23.3 kg is twice that."""
    line = PackLine(bin="Trunk", item="lead", tags=("C-1",), owner="ours", why="a", weight_kg=23.3)
    heavy, light = (
        bin_weights(Kit(bin=(Bin(name="Trunk", empty_kg=0),)), [line.model_copy(update={"weight_kg": kg})])[0]
        for kg in (23.3, 5.0)
    )
    assert heavy.lifting is not None
    assert heavy.lifting.value == pytest.approx(2.0, abs=0.01)
    assert light.lifting is None
