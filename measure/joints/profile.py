"""A strip as a few dozen columns of blocks, each a signal that runs down the strip.

Bed joints are what all blocks share at the same height; perpends, the tone of single units,
windows and ivy are not. So the strip is averaged into narrow column blocks, never over its
whole width, and everything that follows compares the blocks.

Four channels are kept at first: log brightness, two log ratios of colour (which shading and
shadow leave alone) and the variety along the row (mortar is one tone, a course is many). They
are mixed into one signal so that what the blocks share stands out most from what they do not.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt
from scipy import linalg, ndimage

Array = npt.NDArray[np.float64]
Array32 = npt.NDArray[np.float32]

BLOCK_PX = 8  # narrower than a brick end wherever courses can be told apart
MAX_BLOCKS = 24
MAX_SPAN_ROWS = 2300  # longer spans are reduced first: 130 courses still get 17 rows each
MAX_TILT_RAD = np.radians(0.6)  # a straightened strip is level within 0.3 degrees
ENOUGH = 256  # rows, of all blocks, that tell what is usual
DARK = 8.0  # grey levels added before the logarithm: sensor noise, not tone, below this
# smallest deviation a channel of one block can show: 8-bit steps and JPEG, from trials
CHANNEL_FLOOR = {"grey": 0.004, "red-blue": 0.012, "green": 0.012, "variety": 0.02}


@dataclass(frozen=True, slots=True)
class StripProfile:
    """The mixed signal of a strip.

    Attributes
    ----------
    blocks : ndarray, shape (n_blocks, n_rows)
        Mixed log signal; joints made level.
    variety : ndarray, shape (n_rows,)
        Log of the contrast along each row; low where the row is mortar.
    seen : ndarray, shape (n_blocks, n_rows)
        Part of the pixels of each cell that are valid, 0 to 1.
    top_row, bottom_row : float
        The picks, in rows of the profile, counted from the upper edge of row 0.
    rows_per_strip_row : float
        1 unless a long strip was reduced.
    slope : float
        Rows by which a joint falls for each column to the right.
    grey : ndarray, shape (n_rows,)
        Mean log brightness of each row, for graphs.
    summed : ndarray, shape (n_rows + 1, n_tones, n_blocks)
        Sum of the rows above each edge of a row: of brightness and, in colour, of red on blue.
    aside : float
        Columns from the middle of this part of the strip to the middle of the whole strip.
    """

    blocks: Array32
    variety: Array32
    seen: Array32
    top_row: float
    bottom_row: float
    rows_per_strip_row: float
    slope: float
    grey: Array32
    summed: Array
    aside: float = 0.0

    @property
    def n_blocks(self) -> int:
        """Blocks beside one another."""
        return int(self.blocks.shape[0])

    @property
    def span_rows(self) -> float:
        """Rows between the picks."""
        return self.bottom_row - self.top_row

    @property
    def lightness(self) -> Array:
        """How light each row is, 0 to 1, the mean over the strip."""
        return np.asarray((np.exp(self.grey.astype(float)) - DARK) / 255.0)


def make_strip_profile(
    strip: npt.NDArray[np.uint8],
    top_row: float,
    bottom_row: float,
    valid: npt.NDArray[np.bool_] | None = None,
) -> StripProfile:
    """Average a strip into column blocks, level it and mix its channels.

    Parameters
    ----------
    strip : ndarray of uint8, shape (n_rows, n_columns) or (n_rows, n_columns, 3)
    top_row, bottom_row : float
        Rows of the picks; (0 is the upper edge of the first row).
    valid : ndarray of bool, shape (n_rows, n_columns), optional

    Returns
    -------
    StripProfile
    """
    n_rows, n_columns = strip.shape[:2]
    channels, names, seen = _block_channels(strip, valid)
    scale = 1.0
    if bottom_row - top_row > MAX_SPAN_ROWS:
        reduced = round(n_rows * 2048 / (bottom_row - top_row))
        scale = reduced / n_rows
        channels = np.stack([resample_rows(channel, reduced) for channel in channels])
        seen = resample_rows(seen, reduced)
    slope = _find_slope(channels, n_columns * scale)
    channels = np.stack([_level(channel, slope, n_columns * scale) for channel in channels])
    mix = _mixing_weights(channels, names)
    return StripProfile(
        blocks=np.tensordot(mix, channels, 1).astype(np.float32),
        variety=np.median(channels[-1], axis=0).astype(np.float32),
        seen=seen,
        top_row=top_row * scale,
        bottom_row=bottom_row * scale,
        rows_per_strip_row=scale,
        slope=slope,
        grey=channels[0].mean(axis=0).astype(np.float32),
        summed=_summed(channels[:1] if len(channels) < len(CHANNEL_FLOOR) else channels[:2]),
    )


def middle(values: Array | Array32) -> float:
    """Median of a short row of numbers, without the checks that take most of numpy's time."""
    ordered = np.sort(values)
    half = len(ordered) // 2
    return float(ordered[half]) if len(ordered) % 2 else float(ordered[half - 1 : half + 1].mean())


def resample_rows(signal: Array32, n_rows: int) -> Array32:
    """Resample (n_blocks, m) to (n_blocks, n_rows), area-true when reducing."""
    n_blocks, m = signal.shape
    if n_rows == m:
        return signal
    way = cv2.INTER_CUBIC if n_rows > m else cv2.INTER_AREA
    turned = cv2.resize(np.ascontiguousarray(signal.T), (n_blocks, n_rows), interpolation=way)
    return np.ascontiguousarray(turned.reshape(n_rows, n_blocks).T, np.float32)


def _summed(tones: Array32) -> Array:
    n_tones, n_blocks, n_rows = tones.shape
    summed = np.zeros((n_rows + 1, n_tones, n_blocks))
    np.cumsum(tones.transpose(2, 0, 1), axis=0, out=summed[1:])
    return summed


def _block_channels(
    strip: npt.NDArray[np.uint8], valid: npt.NDArray[np.bool_] | None
) -> tuple[Array32, list[str], Array32]:
    """Channels (n_channels, n_blocks, n_rows), their names and the part seen."""
    n_rows, n_columns = strip.shape[:2]
    n_blocks = int(np.clip(n_columns // BLOCK_PX, min(3, n_columns), MAX_BLOCKS))
    size = (n_blocks, n_rows)
    pixels = strip.reshape(n_rows, n_columns, -1).astype(np.float32)
    n_colours = pixels.shape[2]
    seen = np.ones((n_rows, n_blocks), np.float32)
    if valid is not None:
        mask = valid.astype(np.float32)
        seen = cv2.resize(mask, size, interpolation=cv2.INTER_AREA).reshape(n_rows, n_blocks)
        pixels *= mask[..., None]
    means = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA)
    means = means.reshape(n_rows, n_blocks, n_colours) / np.maximum(seen, 1e-3)[..., None]
    logs = np.log(means + DARK)
    if n_colours == 3:
        red, green, blue = logs[..., 0], logs[..., 1], logs[..., 2]
        stacked = [0.3 * red + 0.6 * green + 0.1 * blue, red - blue, green - 0.5 * (red + blue)]
        names = ["grey", "red-blue", "green", "variety"]
    else:
        stacked, names = [logs[..., 0]], ["grey", "variety"]
    stacked.append(_row_variety(strip, size))
    channels = np.ascontiguousarray(np.stack(stacked).transpose(0, 2, 1), np.float32)
    return channels, names, np.ascontiguousarray(seen.T)


def _row_variety(strip: npt.NDArray[np.uint8], size: tuple[int, int]) -> Array32:
    """Log of the difference between pixels of a row that lie a fifth of the width apart."""
    grey = (
        strip if strip.ndim == 2 else strip.reshape(*strip.shape[:2], -1)[..., 1 % strip.shape[2]]
    )
    lag = min(max(4, grey.shape[1] // 5), grey.shape[1] - 1)
    if lag < 1:
        return np.zeros((size[1], size[0]), np.float32)
    apart = cv2.absdiff(
        np.ascontiguousarray(grey[:, lag:]), np.ascontiguousarray(grey[:, :-lag])
    ).astype(np.float32)
    means = cv2.resize(apart, size, interpolation=cv2.INTER_AREA).reshape(size[1], size[0])
    return np.asarray(np.log(means + 3.0), np.float32)


def _block_centres(n_blocks: int, n_columns: float) -> Array:
    """Columns of the block centres, from the middle of the strip."""
    return np.asarray((np.arange(n_blocks) + 0.5) * n_columns / n_blocks - n_columns / 2)


def _find_slope(channels: Array32, n_columns: float) -> float:
    """Find the fall of the level lines: the shear at which the blocks agree best.

    Works on the Fourier transforms of at most eight groups of blocks, where a shift is a
    change of phase. Clipping keeps a window's frame from outweighing the joints.
    """
    n_blocks, n_rows = channels.shape[1:]
    n_groups = min(8, n_blocks)
    if n_groups < 2 or n_rows < 16:
        return 0.0
    groups = np.array_split(np.arange(n_blocks), n_groups)
    centres = _block_centres(n_blocks, n_columns)
    group_centres = np.array([centres[group].mean() for group in groups])
    length = 1 << int(np.ceil(np.log2(n_rows * 1.1)))
    frequency = np.fft.rfftfreq(length)
    keep = frequency > 0.01
    frequency = frequency[keep]
    tilts = np.linspace(-MAX_TILT_RAD, MAX_TILT_RAD, 13)
    step = np.exp(2j * np.pi * frequency * group_centres[:, None] * np.tan(tilts[1] - tilts[0]))
    start = np.exp(2j * np.pi * frequency * group_centres[:, None] * np.tan(tilts[0]))
    window = np.hanning(n_rows)
    score = np.zeros(len(tilts))
    for channel in channels:
        grouped = np.stack([channel[group].mean(axis=0) for group in groups])
        fine = grouped - ndimage.uniform_filter1d(grouped, 9, axis=1)
        limit = 3.0 * float(np.median(np.abs(fine))) + 1e-6
        spectrum = np.fft.rfft(np.clip(fine, -limit, limit) * window, length)[:, keep]
        single = (np.abs(spectrum) ** 2).sum(axis=0) + 1e-12
        turned = spectrum * start
        for i in range(len(tilts)):
            power = np.abs(turned.sum(axis=0)) ** 2
            shared = (power / single - 1.0) / (n_groups - 1.0)
            score[i] += float((power * np.clip(shared, 0.0, 1.0)).sum() / single.sum())
            turned = turned * step
    score = score * (1.0 - 0.2 * (tilts / MAX_TILT_RAD) ** 2)  # level is likelier than not
    i = int(score.argmax())
    shift = 0.0
    if 0 < i < len(tilts) - 1:
        before, here, after = score[i - 1 : i + 2]
        bend = before - 2.0 * here + after
        shift = 0.5 * (before - after) / bend if bend < 0 else 0.0
    return float(np.tan(tilts[i] + shift * (tilts[1] - tilts[0])))


def _level(channel: Array32, slope: float, n_columns: float) -> Array32:
    """Shift every block so that lines of this slope become level."""
    n_blocks, n_rows = channel.shape
    fall = slope * n_columns / n_blocks
    if abs(fall) * n_blocks < 0.05:
        return channel
    source_from_level = np.array([[1.0, 0.0, 0.0], [fall, 1.0, -fall * (n_blocks - 1) / 2]])
    levelled = cv2.warpAffine(
        np.ascontiguousarray(channel.T),
        source_from_level,
        (n_blocks, n_rows),
        flags=cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return np.ascontiguousarray(levelled.T, np.float32)


def _mixing_weights(channels: Array32, names: list[str]) -> Array32:
    """Weights of the channels: most of what blocks share, least of what they do not.

    The largest generalised eigenvector of the covariance of the block mean against the
    covariance of the deviations from it, over three widths of line.
    """
    n_channels, n_blocks, n_rows = channels.shape
    floor = np.diag([CHANNEL_FLOOR[name] ** 2 for name in names])
    shared = np.zeros((n_channels, n_channels))
    single = np.zeros((n_channels, n_channels))
    for width in (2, 4, 8):
        if n_rows < 4 * width:
            continue
        band = ndimage.uniform_filter1d(channels, width, axis=2)
        band -= ndimage.uniform_filter1d(channels, 3 * width, axis=2)
        few = np.abs(band[:, :, :: max(1, n_rows // ENOUGH)]).reshape(n_channels, -1)
        usual = np.median(few, axis=1)[:, None, None] / 0.67 + 1e-6
        band = np.clip(band, -4 * usual, 4 * usual)
        mean = band.mean(axis=1)
        limit = 3.0 * np.median(np.abs(mean), axis=1, keepdims=True) / 0.67 + 1e-9
        clipped = np.clip(mean, -limit, limit)
        apart = (band - mean[:, None]).reshape(n_channels, -1)
        noise = apart @ apart.T / (n_blocks * n_rows * n_blocks) + floor / n_blocks
        scale = np.trace(noise)
        shared += clipped @ clipped.T / n_rows / scale
        single += noise / scale
    if not shared.any():
        return np.array([1.0] + [0.0] * (n_channels - 1), np.float32)
    single += 1e-3 * np.diag(np.diag(single))
    best = np.asarray(linalg.eigh(shared, single)[1][:, -1], float)
    best = best / np.abs(best).max()
    turned = np.asarray(best if best[0] >= 0 else -best, np.float32)
    return turned
