"""`appraise FILE.toml`: everything known about an order file."""

import argparse
import json
import sys
from pathlib import Path

from portal.craft.messages import CraftError
from portal.settings import HOUSE
from portal.shop.appraisal_text import appraise_file


def arguments(_verb: str, parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", type=Path, help="the order, as TOML (see the README)")
    parser.add_argument("--json", action="store_true", help="print JSON")
    seed = HOUSE / "demo_seed"
    parser.add_argument("--shop", type=Path, default=seed / "shop.toml", help="the shop file")
    parser.add_argument("--powders", type=Path, default=seed / "powders.csv", help="its powders")


def run(_verb: str, args: argparse.Namespace) -> int:
    """Print the appraisal; 2 when the file can't be read or says something impossible."""
    try:
        texts = [path.read_text(encoding="utf-8") for path in (args.file, args.shop, args.powders)]
        text, data = appraise_file(*texts)
    except (OSError, UnicodeDecodeError) as wrong:
        print(f"{args.file}: {wrong}", file=sys.stderr)
        return 2
    except CraftError as wrong:
        print(f"{args.file}: {wrong}", file=sys.stderr)
        return 2
    print(json.dumps(data, ensure_ascii=False, indent=2) if args.json else text)
    return 0
