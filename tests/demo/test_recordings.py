"""The demo's recordings: what the simulator gives for the world's shutters, read back by the instrument."""

import io
from dataclasses import replace

import pytest

from pegwood.demo.recordings import recorded
from pegwood.demo.world import FaultsEntry, world
from pegwood.instruments.recordings import open_recording
from pegwood.instruments.shutter import MarkedSpeed, analyse

MECHANISMS = {one.key: one for one in world().mechanisms}
CALM = FaultsEntry(scatter=0.0)


def made(mechanism, marked, faults=CALM, container="flac", firings=2):
    return recorded(
        "the healthy one",
        MECHANISMS[mechanism],
        faults,
        marked,
        firings=firings,
        container=container,
        seed=7,
    )


def measured(content, marked, container="flac"):
    opened = open_recording(io.BytesIO(content), f"recording.{container}")
    return analyse(opened, marked=MarkedSpeed.parse(marked)).to_json()


@pytest.mark.parametrize("mechanism", list(MECHANISMS))
def test_a_healthy_shutter_of_every_kind_is_near_its_marking(mechanism):
    summary = measured(made(mechanism, "1/60"), "1/60")["summary"]
    assert summary["n"] == 2
    assert abs(summary["error_ev"]) < 0.2  # regulated to 0.05 EV, four of them


@pytest.mark.parametrize("container", ["flac", "wav", "csv"])
def test_the_kind_of_file_does_not_change_what_is_measured(container):
    summary = measured(made("leaf-small", "1/100", container=container), "1/100", container)["summary"]
    other = measured(made("leaf-small", "1/100"), "1/100")["summary"]
    assert summary["effective_s"] == pytest.approx(other["effective_s"], rel=2e-3)


@pytest.mark.parametrize("mechanism", ["leaf-large", "cloth"])
def test_b_is_as_long_as_a_hand_holds_it(mechanism):
    shots = measured(made(mechanism, "B"), "B")["shots"]
    assert len(shots) == 2
    assert all(1.0 < shot["effective_s"] < 2.2 for shot in shots)


def test_the_same_camera_is_off_by_the_same_little_whatever_ails_it():
    healthy = measured(made("leaf-small", "1/25"), "1/25")["summary"]["effective_s"]
    gummed = measured(made("leaf-small", "1/25", replace(CALM, gum=0.5)), "1/25")["summary"]["effective_s"]
    again = measured(made("leaf-small", "1/25"), "1/25")["summary"]["effective_s"]
    assert again == healthy
    assert gummed > 1.2 * healthy


def test_blades_that_spring_back_show_as_a_bounce():
    result = measured(made("leaf-35", "1/60", replace(CALM, rebound=0.62)), "1/60")
    assert all(shot["bounce"] for shot in result["shots"])
