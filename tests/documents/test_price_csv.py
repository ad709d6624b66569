import pytest

from laydown.documents.files import lists as price_csv
from laydown.documents.files.lists import read_prices
from laydown.errors import BadFileError


def test_prices_are_read_in_minor_units() -> None:
    """Singles, sets and extras arrive with whole cents and their contents."""
    text = (
        "kind,name,contents,price,currency\n"
        ",Kelp,,2.5,EUR\nset,Box,Kelp; Dune,12,\nextra,paper,,0.75,\n"
    )
    single, box, paper = read_prices(text.encode(), source="p.csv")
    assert (single.kind, single.price, single.currency) == ("single", 250, "EUR")
    assert (box.contents, box.price) == (("Kelp", "Dune"), 1200)
    assert (paper.kind, paper.price) == ("extra", 75)


@pytest.mark.parametrize("price", ["2,50", "-1", "", "nan", "1.234", "99999999"])
def test_what_is_no_price_is_refused(price: str) -> None:
    """A price is a plain number with at most two decimals, with a point."""
    with pytest.raises(BadFileError, match="line 2"):
        read_prices(f'kind,name,price\nsingle,Kelp,"{price}"\n'.encode(), source="p.csv")


def test_rows_and_contents_of_sets_are_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    """As many as are read are read, and one more is refused."""
    rows = b"kind,name,contents,price\nset,Box,Kelp;Dune,2\nset,Tin,Kelp;Gull,3\n"
    monkeypatch.setattr(price_csv, "MOST_PRICES", 2)
    monkeypatch.setattr(price_csv, "MOST_CONTENTS", 4)
    assert len(read_prices(rows, source="p.csv")) == 2
    with pytest.raises(BadFileError, match="3 prices: allowed are 2"):
        read_prices(rows + b"single,Gull,,1\n", source="p.csv")
    monkeypatch.setattr(price_csv, "MOST_CONTENTS", 3)
    with pytest.raises(BadFileError, match="more than 3 colorants in all"):
        read_prices(rows, source="p.csv")
