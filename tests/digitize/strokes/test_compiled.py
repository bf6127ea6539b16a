"""Machine code that holds helpers of an older source is not run."""

from pathlib import Path

from digitize.strokes.compiled import drop_stale


def kept_in(room: Path) -> Path:
    (room / "deep" / "__pycache__").mkdir(parents=True, exist_ok=True)
    kept = room / "deep" / "__pycache__" / "caller.one-1.py311.nbi"
    kept.write_bytes(b"")
    return kept


def test_machine_code_is_dropped_when_a_compiled_helper_changes(tmp_path: Path) -> None:
    helper, plain = tmp_path / "helper.py", tmp_path / "plain.py"
    helper.write_text("@compiled\ndef half(x): return x / 2\n")
    plain.write_text("WIDTH = 1\n")
    assert drop_stale(tmp_path)
    kept = kept_in(tmp_path)
    plain.write_text("WIDTH = 2\n")
    assert not drop_stale(tmp_path)
    assert kept.exists()
    helper.write_text("@compiled\ndef half(x): return 0.5 * x\n")
    assert drop_stale(tmp_path)
    assert not kept.exists()
    assert not drop_stale(tmp_path)
