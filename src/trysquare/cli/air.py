"""`trysquare air`: refractive index of air, with its uncertainty."""

import argparse
from typing import Any

from ..core.errors import InputError
from ..core.units import quantity
from .answer import Answer


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--t", required=True, metavar="T", help="air temperature, degC or with unit")
    parser.add_argument("--p", required=True, metavar="P", help='air pressure, Pa or with unit ("101.3 kPa")')
    humidity = parser.add_mutually_exclusive_group()
    humidity.add_argument("--rh", metavar="RH", help="relative humidity, per cent")
    humidity.add_argument(
        "--vapour-pressure", metavar="PV", help="partial pressure of water vapour instead, Pa or with unit"
    )
    parser.add_argument("--co2", default="450", metavar="X", help="carbon dioxide, umol/mol (450)")
    parser.add_argument("--wavelength", default="632.9912", metavar="W", help="vacuum wavelength, nm (632.9912)")
    parser.add_argument("--group", action="store_true", help="group index, for pulsed or modulated light")
    parser.add_argument("--method", default="Ciddor", metavar="M", help="Ciddor or Edlen (as a check)")
    parser.add_argument(
        "--distance", metavar="D", help="distance found with the vacuum speed of light, mm or with unit"
    )
    parser.add_argument("--u-t", default="0", metavar="U", help="standard uncertainty of the temperature, K")
    parser.add_argument("--u-p", default="0", metavar="U", help="standard uncertainty of the pressure, Pa or with unit")
    parser.add_argument("--u-rh", metavar="U", help="standard uncertainty of the humidity, per cent")
    parser.add_argument("--u-vapour-pressure", metavar="U", help="that of the vapour pressure, Pa")
    parser.add_argument("--u-co2", default="0", metavar="U", help="that of the carbon dioxide, umol/mol")


def run(args: argparse.Namespace) -> Answer:
    from ..surroundings.air import distance_correction, index_with_uncertainty

    given = _inputs(args)
    air = index_with_uncertainty(**given, group=args.group, method=args.method)
    N, u = float(air.refractivity), float(air.u)
    document = {
        "n": 1.0 + N,
        "refractivity": N,
        "method": args.method,
        "group": args.group,
        "u": u,
        "u_formula": float(air.u_formula),
        "sensitivity": {
            "per_K": float(air.per_K), "per_Pa": float(air.per_Pa), "per_percent_rh": float(air.per_percent_rh),
        },
        "notes": list(air.notes),
    }  # fmt: skip
    if args.distance is not None:
        distance = quantity(args.distance, "length", "mm", where="--distance")
        document["correction_mm"] = float(distance_correction(distance, N))
        document["u_correction_mm"] = abs(distance) * u
    return Answer(document, _text(document, only_formula=u == document["u_formula"]))


def _inputs(args: argparse.Namespace) -> dict[str, Any]:
    """Options in the units of the library."""
    vapour = args.vapour_pressure is not None
    unused, option = (args.u_rh, "--u-rh") if vapour else (args.u_vapour_pressure, "--u-vapour-pressure")
    if unused is not None:
        raise InputError(
            option, "this uncertainty", "belong to the kind of humidity given", unused,
            "Use --u-rh with --rh, --u-vapour-pressure with --vapour-pressure.",
        )  # fmt: skip
    return {
        "temperature_degC": quantity(args.t, "temperature", "degC", where="--t"),
        "pressure_Pa": quantity(args.p, "pressure", "Pa", where="--p"),
        "humidity_percent": None if args.rh is None else 100 * quantity(args.rh, "ratio", "%", where="--rh"),
        "vapour_pressure_Pa": quantity(args.vapour_pressure, "pressure", "Pa", where="--vapour-pressure")
        if vapour
        else None,
        "co2_ppm": 1e6 * quantity(args.co2, "ratio", "ppm", where="--co2"),
        "wavelength_nm": 1e6 * quantity(args.wavelength, "length", "nm", where="--wavelength"),
        "u_temperature": quantity(args.u_t, "difference", "K", where="--u-t"),
        "u_pressure": quantity(args.u_p, "pressure", "Pa", where="--u-p"),
        "u_humidity": quantity(args.u_vapour_pressure or 0.0, "pressure", "Pa", where="--u-vapour-pressure")
        if vapour
        else 100 * quantity(args.u_rh or 0.0, "ratio", "%", where="--u-rh"),
        "u_co2": 1e6 * quantity(args.u_co2, "ratio", "ppm", where="--u-co2"),
    }


def _text(document: dict[str, Any], *, only_formula: bool) -> str:
    s = document["sensitivity"]
    kind = "group" if document["group"] else "phase"
    lines = [
        f"Refractive index of air ({document['method']}, {kind})",
        "",
        f"  n               {document['n']:.9f}",
        f"  n - 1           {document['refractivity']:.5e}",
        f"  u               {document['u']:.1e}   standard uncertainty",
    ]
    if only_formula:
        lines.append("                  of the formula alone: add --u-t, --u-p, --u-rh for your air")
    lines += [
        f"  per K           {s['per_K']:+.2e}",
        f"  per Pa          {s['per_Pa']:+.2e}",
        f"  per % humidity  {s['per_percent_rh']:+.2e}",
    ]
    if "correction_mm" in document:
        lines += [
            "",
            f"  correction      {document['correction_mm']:+.6f} mm   true minus found with the vacuum speed",
            f"  its u           {document['u_correction_mm']:.6f} mm",
        ]
    return "\n".join(lines + [f"\n  Note: {note}." for note in document["notes"]])
