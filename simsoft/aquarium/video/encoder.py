"""Which encoder a clip is written with: the best that this copy of the library brings."""

from __future__ import annotations

from simsoft.core.errors import OutputError

# In this order: small files first. MPEG-4 part 2 is built into every copy of the library.
ENCODERS = ("libx264", "libopenh264", "h264_videotoolbox", "mpeg4")


def best_encoder(wanted: str | None = None) -> str:
    """Return the name of an encoder that is there.

    Parameters
    ----------
    wanted : str or None, taken where it is there; else the first of ``ENCODERS`` that is

    Raises
    ------
    OutputError
        There is none of them.
    """
    from av.codec import Codec
    from av.error import FFmpegError

    for name in (wanted, *ENCODERS):
        if name is None:
            continue
        try:
            Codec(name, "w")
        except (FFmpegError, ValueError):
            continue
        return name
    raise OutputError(f"no video encoder is there; one of {', '.join(ENCODERS)} is needed")
