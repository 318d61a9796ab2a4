"""Writes candidates.json: projected coordinate systems of the EPSG registry (as PROJ ships it) whose datum needs no
grid, each with its definition, the datum shift PROJ applies and places computed by PROJ. Run with the system's Python
(osgeo bindings) and projinfo; the table of the reader keeps only rows that the projection library reproduces."""

import json
import re
import sqlite3
import subprocess

from osgeo import osr

osr.UseExceptions()

# Datums that PROJ takes as WGS 84 without a shift (or with one below its own accuracy).
NULL_SHIFT = {
    4326: 0, 4269: 2, 4258: 1, 6318: 2, 4152: 2, 4759: 2, 6783: 2, 4617: 2, 4167: 1, 4283: 3, 7844: 3, 4674: 1,
    4171: 1, 6706: 1, 4619: 1, 6668: 1, 4612: 1, 4148: 1, 4081: 1, 4190: 1, 4661: 1, 4669: 1, 4737: 1,
    4765: 1, 4670: 1, 4694: 1, 4686: 1, 4640: 1, 4627: 1, 4463: 1, 4558: 1, 4470: 1, 4483: 1, 6365: 1, 4189: 1,
    5340: 1, 5252: 1, 7683: 1, 4173: 1, 9702: 1, 9777: 1, 9782: 1, 4490: 1, 4180: 1, 5886: 1, 5324: 1, 4126: 1,
}
# Datums with a seven- or three-parameter shift in national grids that are in use.
HELMERT = [4289, 4313, 4149, 4150, 4312, 4314, 4277, 4230, 4121, 4237, 4265, 4266, 4299, 4300, 4124, 4263, 4240]

db = sqlite3.connect("/usr/share/proj/proj.db")
bases = list(NULL_SHIFT) + HELMERT
rows = db.execute(
    "select p.code, p.name, p.geodetic_crs_code from projected_crs p where p.auth_name='EPSG' and p.deprecated=0 "
    "and p.geodetic_crs_auth_name='EPSG' and p.text_definition is null and p.geodetic_crs_code in (%s) order by p.code"
    % ",".join("?" * len(bases)),
    [str(b) for b in bases],
).fetchall()


def area(code):
    return db.execute(
        "select min(e.west_lon), min(e.south_lat), max(e.east_lon), max(e.north_lat) from usage u join extent e on "
        "u.extent_code=e.code and u.extent_auth_name=e.auth_name where u.object_table_name='projected_crs' and "
        "u.object_auth_name='EPSG' and u.object_code=?",
        (str(code),),
    ).fetchone()


wgs = osr.SpatialReference()
wgs.ImportFromEPSG(4326)
wgs.SetAxisMappingStrategy(osr.OAMS_TRADITIONAL_GIS_ORDER)

shifts = {}


def helmert(code):
    """Parameters of PROJ's first grid-free operation as position vector, its accuracy and whether a grid would be better."""
    if code in shifts:
        return shifts[code]
    text = subprocess.run(
        ["projinfo", "-s", f"EPSG:{code}", "-t", "EPSG:4326", "-o", "PROJ", "--spatial-test", "intersects", "--single-line"],
        capture_output=True, text=True, check=True,
    ).stdout
    found = None
    for block in text.split("-------------------------------------"):
        m = re.search(r"\+proj=helmert ([^\n]*?)(?=\+step|$)", block)
        if not m or "+proj=hgridshift" in block:
            continue
        v = dict(re.findall(r"\+(\w+)=(\S+)", m.group(1)))
        sign = -1 if v.get("convention") == "coordinate_frame" else 1
        p = [float(v.get(k, 0)) for k in ("x", "y", "z")] + [sign * float(v.get(k, 0)) for k in ("rx", "ry", "rz")] + [float(v.get("s", 0))]
        acc = re.search(r", ([\d.]+) m,", block)
        found = (p, float(acc.group(1)) if acc else None)
        break
    shifts[code] = (found, "grid missing" in text or "hgridshift" in text)
    return shifts[code]


out = []
for code, name, base in rows:
    code, base = int(code), int(base)
    box = area(code)
    if box is None or box[0] is None or box[0] > box[2]:
        continue
    try:
        srs = osr.SpatialReference()
        srs.ImportFromEPSG(code)
        proj = subprocess.run(["projinfo", f"EPSG:{code}", "-o", "PROJ", "-q"], capture_output=True, text=True).stdout.strip()
    except RuntimeError:
        continue
    if "+proj=" not in proj or "+axis" in proj or "+pm" in proj:
        continue
    if len(out) % 100 == 0:
        print(len(out), code, name, flush=True)
    srs.SetAxisMappingStrategy(osr.OAMS_TRADITIONAL_GIS_ORDER)
    west, south, east, north = box
    south, north = max(south, -85), min(north, 85)
    points = []
    for fx, fy in ((0.5, 0.5), (0.3, 0.35), (0.7, 0.65)):
        lng = round(west + fx * (east - west), 4)
        lat = round(south + fy * (north - south), 4)
        try:
            x, y, _ = osr.CoordinateTransformation(wgs, srs).TransformPoint(lng, lat)
            points.append([lng, lat, round(x, 4), round(y, 4)])
        except RuntimeError:
            pass
    if len(points) < 3:
        continue
    entry = {"code": code, "name": name, "base": base, "proj": proj, "points": points}
    if base in HELMERT:
        found, grid = helmert(code)
        if found is None:
            continue
        entry.update(towgs84=found[0], accuracyM=found[1], betterGrid=grid)
    else:
        entry.update(towgs84=[0, 0, 0], accuracyM=NULL_SHIFT[base], betterGrid=False)
    out.append(entry)
json.dump(out, open("/tmp/crs-candidates.json", "w"))
print(len(out))
