"""The interpreter of ONNX graphs against onnxruntime, an engine of its own, on tiny graphs."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest

torch = pytest.importorskip("torch", reason="torch is needed for the fast neural voice only")
onnx = pytest.importorskip("onnx", reason="onnx is needed for the fast neural voice only")
onnxruntime = pytest.importorskip("onnxruntime", reason="onnxruntime is what the graph is compared with")

from tests.bench.finetune.graph.graph_node import GraphError  # noqa: E402
from tests.bench.finetune.graph.runner import Graph  # noqa: E402 - it imports torch

FLOAT, INT64 = 1, 7
Arrays = Mapping[str, Any]


@pytest.fixture
def rng() -> np.random.Generator:
    return np.random.default_rng(5)


def node(kind: str, inputs: str, outputs: str, **attributes: Any) -> Any:
    """`inputs` and `outputs` by names with a space between, - for one left out."""
    names = ["" if name == "-" else name for name in inputs.split()]
    return onnx.helper.make_node(kind, names, outputs.split(), **attributes)


def write(path: Path, nodes: list[Any], feeds: Arrays, constants: Arrays, result: int = FLOAT) -> Path:
    helper = onnx.helper
    made = helper.make_graph(
        nodes,
        "tiny",
        [
            helper.make_tensor_value_info(name, helper.np_dtype_to_tensor_dtype(a.dtype), [None] * a.ndim)
            for name, a in feeds.items()
        ],
        [helper.make_tensor_value_info("y", result, None)],
        [onnx.numpy_helper.from_array(np.asarray(a), name) for name, a in constants.items()],
    )
    opsets = [helper.make_opsetid("", 20), helper.make_opsetid("com.microsoft", 1)]
    onnx.save(helper.make_model(made, opset_imports=opsets, ir_version=9), path)
    return path


def both(path: Path, feeds: Arrays) -> tuple[np.ndarray, np.ndarray]:
    session = onnxruntime.InferenceSession(str(path), providers=["CPUExecutionProvider"])
    return session.run(None, feeds)[0], Graph(path, "cpu")(feeds)


def same(path: Path, feeds: Arrays, within: float = 1e-5) -> None:
    expected, found = both(path, feeds)
    assert found.shape == expected.shape
    assert found.dtype == expected.dtype
    np.testing.assert_allclose(found, expected, atol=within)


def fails_in(path: Path, feeds: Arrays) -> str:
    """The function that first asks the device for a number: "meta" is one that holds none."""
    graph = Graph(path, "meta")
    with pytest.raises((NotImplementedError, RuntimeError), match="meta") as raised:
        graph(feeds)
    return [one.name for one in raised.traceback if Path(one.path).name.startswith("graph")][-1]


def test_quantised_matmul_with_zero_points_for_each_column_and_a_bias(
    tmp_path: Path, rng: np.random.Generator
) -> None:
    feeds = {"x": rng.normal(size=(1, 5, 16)).astype(np.float32)}
    weight = rng.integers(-127, 128, (16, 8), dtype=np.int8)
    zero = rng.integers(-9, 9, 8, dtype=np.int8)
    scale = rng.uniform(0.001, 0.01, 8).astype(np.float32)
    bias = rng.normal(size=8).astype(np.float32)
    nodes = [
        node("DynamicQuantizeLinear", "x", "q s z"),
        node("MatMulInteger", "q w z wz", "product"),
        node("Mul", "s ws", "scales"),
        node("Cast", "product", "cast", to=FLOAT),
        node("Mul", "cast scales", "scaled"),
        node("Add", "b scaled", "y"),
    ]
    path = write(tmp_path / "m.onnx", nodes, feeds, {"w": weight, "wz": zero, "ws": scale, "b": bias})
    expected, found = both(path, feeds)
    exact = feeds["x"].astype(float) @ ((weight.astype(float) - zero) * scale) + bias
    np.testing.assert_allclose(found, exact, atol=1e-5)
    assert np.abs(expected - found).max() < 0.02  # the engine rounds x to 8 bits
    assert len(Graph(path, "cpu")._steps) == 1  # the whole group is one product


def test_the_bias_of_a_quantised_convolution_is_not_rounded(tmp_path: Path, rng: np.random.Generator) -> None:
    feeds = {"x": rng.normal(size=(1, 4, 30)).astype(np.float32)}
    weight = rng.integers(0, 128, (6, 4, 3), dtype=np.uint8)
    bias = rng.normal(size=6).astype(np.float32)
    nodes = [
        node("DynamicQuantizeLinear", "x", "q s z"),
        node("ConvInteger", "q w z wz", "product", pads=[2, 2], dilations=[2], strides=[2], kernel_shape=[3]),
        node("Mul", "s ws", "scale"),
        node("Div", "b scale", "steps"),
        node("Floor", "steps", "whole"),
        node("Cast", "whole", "int", to=6),
        node("Reshape", "int shape", "column"),
        node("Add", "product column", "sum"),
        node("Cast", "sum", "cast", to=FLOAT),
        node("Mul", "cast scale", "y"),
    ]
    constants = {
        "w": weight,
        "wz": np.uint8(60),
        "ws": np.float32(0.05),  # coarse: rounding to it would show
        "b": bias,
        "shape": np.array([1, -1, 1]),
    }
    path = write(tmp_path / "c.onnx", nodes, feeds, constants)
    expected, found = both(path, feeds)
    exact = torch.nn.functional.conv1d(
        torch.from_numpy(feeds["x"]),
        torch.from_numpy((weight.astype(np.float32) - 60) * np.float32(0.05)),
        torch.from_numpy(bias),
        stride=2,
        padding=2,
        dilation=2,
    )
    np.testing.assert_allclose(found, exact.numpy(), atol=1e-4)
    assert np.abs(expected - found).max() < 0.01 * np.abs(expected).max()


def test_a_product_that_is_used_twice_keeps_what_follows_apart(
    tmp_path: Path, rng: np.random.Generator
) -> None:
    feeds = {"x": rng.normal(size=(3, 4)).astype(np.float32)}
    nodes = [
        node("DynamicQuantizeLinear", "x", "q s z"),
        node("MatMulInteger", "q w z", "product"),
        node("Cast", "product", "cast", to=FLOAT),
        node("Mul", "cast s", "scaled"),
        node("Mul", "scaled two", "double"),
        node("Sub", "double scaled", "y"),
    ]
    weight = rng.integers(-5, 5, (4, 2), dtype=np.int8)
    path = write(tmp_path / "t.onnx", nodes, feeds, {"w": weight, "two": np.float32(2)})
    np.testing.assert_allclose(Graph(path, "cpu")(feeds), feeds["x"] @ weight.astype(np.float32), atol=1e-5)


def test_quantised_lstm_both_ways(tmp_path: Path, rng: np.random.Generator) -> None:
    size, hidden = 6, 5
    feeds = {"x": rng.normal(size=(7, 1, size)).astype(np.float32)}
    constants = {
        "w": rng.integers(-127, 128, (2, size, 4 * hidden), dtype=np.int8),
        "r": rng.integers(-127, 128, (2, hidden, 4 * hidden), dtype=np.int8),
        "b": rng.normal(size=(2, 8 * hidden)).astype(np.float32),
        "h": rng.normal(size=(2, 1, hidden)).astype(np.float32),
        "c": rng.normal(size=(2, 1, hidden)).astype(np.float32),
        "ws": np.array([0.01, 0.02], np.float32),
        "rs": np.array([0.02, 0.01], np.float32),
        "z": np.array([0, 0], np.int8),
    }
    lstm = node("DynamicQuantizeLSTM", "x w r b - h c - ws z rs z", "y", hidden_size=hidden)
    lstm.domain = "com.microsoft"
    lstm.attribute.append(onnx.helper.make_attribute("direction", "bidirectional"))
    path = write(tmp_path / "l.onnx", [lstm], feeds, constants)
    same(path, feeds, 0.02)  # the engine rounds x and h to 8 bits


def test_spectrum_of_frames(tmp_path: Path, rng: np.random.Generator) -> None:
    feeds = {"x": rng.normal(size=(1, 103)).astype(np.float32)}
    constants = {"step": np.int64(5), "window": np.hanning(20).astype(np.float32), "length": np.int64(20)}
    path = write(
        tmp_path / "s.onnx", [node("STFT", "x step window length", "y", onesided=1)], feeds, constants
    )
    found = Graph(path, "cpu")(feeds)
    frames = np.lib.stride_tricks.sliding_window_view(feeds["x"][0], 20)[::5] * constants["window"]
    waves = np.fft.rfft(frames)  # numpy's, beside the engine's
    np.testing.assert_allclose(found[0, ..., 0] + 1j * found[0, ..., 1], waves, atol=1e-4)
    same(path, feeds, 1e-4)


@pytest.mark.parametrize(
    ("length", "scale", "options"),
    [
        (
            9,
            300.0,
            {"mode": "nearest", "nearest_mode": "floor", "coordinate_transformation_mode": "asymmetric"},
        ),
        (600, 1 / 300, {"mode": "linear", "coordinate_transformation_mode": "half_pixel"}),
        (11, 30.0, {"mode": "linear", "coordinate_transformation_mode": "half_pixel"}),
    ],
)
def test_resampling(
    length: int, scale: float, options: dict[str, str], tmp_path: Path, rng: np.random.Generator
) -> None:
    feeds = {"x": rng.normal(size=(1, 2, length)).astype(np.float32)}
    constants = {"scales": np.array([1, 1, scale], np.float32)}
    same(
        write(tmp_path / "r.onnx", [node("Resize", "x - scales", "y", **options)], feeds, constants),
        feeds,
        1e-4,
    )


def test_shapes_are_computed_on_the_host(tmp_path: Path, rng: np.random.Generator) -> None:
    feeds = {"x": rng.normal(size=(2, 3, 8)).astype(np.float32)}
    nodes = [
        node("Shape", "x", "shape"),
        node("Gather", "shape zero", "first"),
        node("Unsqueeze", "first axis", "batch"),
        node("Gather", "shape last", "width"),
        node("Div", "width two", "half"),
        node("Unsqueeze", "half axis", "halves"),
        node("Concat", "batch minus halves", "size", axis=0),
        node("Reshape", "x size", "shaped"),
        node("Slice", "shaped minus far axis2", "end"),
        node("Expand", "end wider", "wide"),
        node("Cast", "width", "number", to=FLOAT),
        node("Mul", "wide number", "y"),
    ]
    constants = {
        "zero": np.int64(0),
        "last": np.int64(-1),
        "axis": np.array([0]),
        "axis2": np.array([2]),
        "two": np.int64(2),
        "minus": np.array([-1]),
        "wider": np.array([2, 6, 4]),
        "far": np.array([2**63 - 1]),
    }
    path = write(tmp_path / "h.onnx", nodes, feeds, constants)
    same(path, feeds)
    assert fails_in(path, feeds) == "__call__"  # the only number that is asked for is the result


def test_a_length_that_hangs_on_data(tmp_path: Path) -> None:
    feeds = {"x": np.array([2.5, 0.2, 3.5], np.float32)}
    nodes = [
        node("Round", "x", "round"),
        node("Clip", "round one", "least"),
        node("Cast", "least", "whole", to=INT64),
        node("CumSum", "whole zero", "sums"),
        node("Gather", "sums last", "length"),
        node("Range", "zero length step", "y"),
    ]
    constants = {"one": np.float32(1), "zero": np.int64(0), "last": np.int64(-1), "step": np.int64(1)}
    path = write(tmp_path / "d.onnx", nodes, feeds, constants, INT64)
    same(path, feeds)
    assert len(Graph(path, "cpu")(feeds)) == 2 + 1 + 4  # half goes to the even number
    assert fails_in(path, feeds) != "__call__"  # here the length is asked for


def test_what_is_not_known_is_told_at_load(tmp_path: Path) -> None:
    feeds = {"x": np.zeros((1, 2), np.float32)}
    with pytest.raises(GraphError, match="operator Einsum"):
        Graph(write(tmp_path / "e.onnx", [node("Einsum", "x", "y", equation="ij->ji")], feeds, {}), "cpu")
    nodes = [node("CumSum", "x axis", "y", reverse=1)]
    with pytest.raises(GraphError, match="reverse is 1, only 0 is known"):
        Graph(write(tmp_path / "r.onnx", nodes, feeds, {"axis": np.int64(1)}), "cpu")
    nodes = [node("Split", "x", "y z", num_outputs=2, axis=1)]
    with pytest.raises(GraphError, match=r"\['num_outputs'\] are not known"):
        Graph(write(tmp_path / "s.onnx", nodes, feeds, {}), "cpu")
