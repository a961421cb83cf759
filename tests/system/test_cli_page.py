"""The verb `page`: what it refuses."""


def test_wrong_input_is_named_and_nothing_is_written(call, tmp_path, slab):
    for words, said in (
        ([slab, "--out", tmp_path / "page.html"], "expected a map that spotdwell wrote"),
        ([tmp_path / "none.h5", "--out", tmp_path / "page.html"], "got no such file"),
        ([slab, "--out", tmp_path / "page.pdf"], "--out: expected a file name that ends in .html"),
    ):
        answer = call("page", *words)
        assert (answer.code, answer.out) == (2, "") and said in answer.err
    assert not list(tmp_path.glob("page*"))
