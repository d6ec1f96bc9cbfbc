"""
A voice that is learned: against distributions that were moved by a map which the test chose.

Outside checks: the generalised least squares that Leggetter and Woodland's maximum likelihood comes down to
for diagonal variances (Computer Speech and Language 9 (1995) 171-185; memory), solved by numpy's own `lstsq`
on every single frame instead of on sums; the known map itself; `scipy.stats.norm`; and the counts in
pocketsphinx's own files.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from pegwood.hearing.spoken.voice import (
    Acoustics,
    Aligned,
    NotAcoustics,
    NotAVoice,
    adapted,
    features_of,
    heard,
    learn,
    map_of,
    means_file,
    read_acoustics,
    sentences_to_read,
)

D = 4


def drawn(seed: int, frames: int, normals: int = 30):
    """Frames of known distributions whose means were moved by a known map."""
    rng = np.random.default_rng(seed)
    means = rng.normal(0, 3, (normals, D))
    variances = rng.uniform(0.2, 2, (normals, D))
    matrix, shift = np.eye(D) + rng.normal(0, 0.1, (D, D)), rng.normal(0, 1, D)
    which = rng.integers(0, normals, frames)
    x = means[which] @ matrix.T + shift + rng.normal(size=(frames, D)) * np.sqrt(variances[which])
    return means, variances, which, x, np.hstack([shift[:, None], matrix])


def sums_of(which, x, normals):
    frames = np.bincount(which, minlength=normals).astype(float)
    return frames, np.stack([np.bincount(which, x[:, i], normals) for i in range(D)], axis=1)


def test_the_map_is_the_weighted_least_squares_of_every_frame():
    means, variances, which, x, _ = drawn(1, 400)
    found = map_of(*sums_of(which, x, 30), means, variances, drawn=0.0)
    extended = np.hstack([np.ones((30, 1)), means])[which]
    for row in range(D):
        root = 1 / np.sqrt(variances[which, row])
        expected, *_ = np.linalg.lstsq(extended * root[:, None], x[:, row] * root, rcond=None)
        assert found[row] == pytest.approx(expected, rel=1e-8, abs=1e-9)


def test_a_known_map_is_found_again_within_its_scatter():
    means, variances, which, x, truth = drawn(2, 40_000)
    frames, sums = sums_of(which, x, 30)
    found = map_of(frames, sums, means, variances, drawn=0.0)
    extended = np.hstack([np.ones((30, 1)), means])
    for row in range(D):  # the estimate's own covariance, as of any weighted least squares
        information = extended.T @ (extended * (frames / variances[:, row])[:, None])
        scatter = np.sqrt(np.diag(np.linalg.inv(information)))
        assert np.all(np.abs(found[row] - truth[row]) < 5 * scatter)


def test_the_fewer_frames_the_more_the_map_stays_none_at_all():
    means, variances, which, x, truth = drawn(3, 40_000)
    still = np.hstack([np.zeros((D, 1)), np.eye(D)])
    assert map_of(np.zeros(30), np.zeros((30, D)), means, variances) == pytest.approx(still)
    errors = []
    for n in (20, 400, 40_000):
        off = map_of(*sums_of(which[:n], x[:n], 30), means, variances) - truth
        errors.append(np.abs(off).max())
    assert errors[0] > errors[1] > errors[2]
    # Four frames cannot tell five coefficients a row: unheld there is no answer, held it is near to none at
    # all.
    few = sums_of(which[:4], x[:4], 30)
    assert np.abs(map_of(*few, means, variances) - still).max() < np.abs(truth - still).max()


def small_model(seed: int = 5) -> Acoustics:
    rng = np.random.default_rng(seed)
    weights = np.log(rng.dirichlet(np.ones(8), (3, 6))).transpose(0, 2, 1)
    return Acoustics(
        phones=("AA", "B", "SIL"),
        means=rng.normal(0, 4, (3, 3, 8, D)),
        variances=rng.uniform(0.5, 1.5, (3, 3, 8, D)),
        log_weights=weights.astype(np.float32),
    )


def spoken_by(model: Acoustics, frames: int, seed: int) -> Aligned:
    """Frames drawn from the model's own mixtures."""
    rng = np.random.default_rng(seed)
    phones = rng.integers(0, 3, frames)
    senones = phones * 2 + rng.integers(0, 2, frames)
    x = np.empty((frames, 3, D))
    for t in range(frames):
        for s in range(3):
            share = np.exp(model.log_weights[s, :, senones[t]].astype(float))
            k = rng.choice(8, p=share / share.sum())
            x[t, s] = rng.normal(model.means[phones[t], s, k], np.sqrt(model.variances[phones[t], s, k]))
    return Aligned(x, phones, senones)


def test_shares_are_those_of_bayes_rule_by_scipy():
    model = small_model()
    one = spoken_by(model, 40, 6)
    was = heard(model, [one])
    frames = np.zeros(model.means.shape[:3])
    for t in range(40):
        p = one.phones[t]
        for s in range(3):
            log = norm.logpdf(one.features[t, s], model.means[p, s], np.sqrt(model.variances[p, s])).sum(
                axis=1
            )
            share = np.exp(log + model.log_weights[s, :, one.senones[t]])
            frames[p, s] += share / share.sum()
    assert was.frames == pytest.approx(frames, abs=1e-9)
    assert was.frames.sum() == pytest.approx(40 * 3)


def test_another_voices_frames_become_likelier_and_silence_stays_where_it_was():
    model = small_model()
    rng = np.random.default_rng(8)
    matrix, shift = np.eye(D) + rng.normal(0, 0.05, (D, D)), rng.normal(0, 0.7, D)
    other = model.with_means(model.means @ matrix.T + shift)
    taught, fresh = spoken_by(other, 3000, 9), spoken_by(other, 1000, 10)
    still = np.array([False, False, True])
    means = adapted(model, heard(model, [taught]), still)
    assert np.array_equal(means[2], model.means[2])

    def far(of):  # from where that voice has them, in its own standard deviations
        return np.sqrt(np.mean((of[:2] - other.means[:2]) ** 2 / model.variances[:2]))

    assert far(means) < 0.3 * far(model.means)
    likely = [_log_likelihood(model.with_means(m), fresh) for m in (model.means, means, other.means)]
    assert likely[0] < likely[1]
    assert likely[2] - likely[1] < 0.4 * (likely[2] - likely[0])


def _log_likelihood(model: Acoustics, one: Aligned) -> float:
    total = 0.0
    for t, p in enumerate(one.phones):
        for s in range(3):
            log = norm.logpdf(one.features[t, s], model.means[p, s], np.sqrt(model.variances[p, s])).sum(
                axis=1
            )
            total += float(np.logaddexp.reduce(log + model.log_weights[s, :, one.senones[t]]))
    return total / len(one.phones)


def test_slopes_are_those_of_a_straight_line_and_bends_those_of_a_parabola():
    t = np.arange(30.0)
    line, curve = features_of(np.outer(t, [2.0])), features_of(np.outer(t**2, [1.0]))
    assert line[5:-5, 1, 0] == pytest.approx(8.0)  # four frames apart
    assert line[5:-5, 2, 0] == pytest.approx(0.0)
    assert curve[5:-5, 2, 0] == pytest.approx(16.0)  # of slopes 4 t + ..., each over four frames, two apart
    assert line[:, 0].mean() == pytest.approx(0.0)


def test_a_models_files_are_read_and_written_as_they_are(tmp_path):
    pytest.importorskip("pocketsphinx")
    from pegwood.hearing.spoken.decoders import model_folder

    model = read_acoustics(model_folder())
    assert len(model.phones) == 42  # the ARPAbet's 39, silence, and two noises
    assert model.means.shape == (42, 3, 128, 13)
    assert model.log_weights.shape == (3, 128, 5126)
    # A senone's weights are chances: they sum to one but for their rounding to a tenth of a nat.
    assert np.exp(model.log_weights.astype(float)).sum(axis=1) == pytest.approx(1.0, abs=0.12)
    own = (model_folder() / "means").read_bytes()
    numbers = model.means.size * 4
    assert means_file(model.means)[-numbers:] == own[own.index(b"endhdr\n") + 7 + 32 :][:numbers]
    for name in ("mdef", "means", "variances", "sendump"):
        (tmp_path / name).write_bytes((model_folder() / name).read_bytes())
    (tmp_path / "means").write_bytes(own.replace(b"s3\n", b"s4\n", 1))
    with pytest.raises(NotAcoustics, match="means are not laid out"):
        read_acoustics(tmp_path)


@pytest.mark.parametrize("pcm", [b"", b"\0\0" * 16_000, b"\1\0\5\0" * 20_000])
def test_from_nothing_read_no_voice_is_learned(pcm):
    pytest.importorskip("pocketsphinx")
    with pytest.raises(NotAVoice, match="Read each as it stands"):
        learn([(one, pcm) for one in sentences_to_read()])


def test_what_is_read_holds_every_phone():
    pytest.importorskip("pocketsphinx")
    from pegwood.hearing.spoken.decoders import PHONES, english
    from pegwood.hearing.spoken.sayings import spoken_words

    says = english()
    spoken = [says(word)[0].split() for text in sentences_to_read() for word in spoken_words(text)]
    held = {phone: sum(word.count(phone) for word in spoken) for phone in PHONES}
    assert {phone: n for phone, n in held.items() if n < 2} == {}
