"""Times outside tools on rasters in memory, one request per line on stdin, one JSON answer per line on stdout.

Run by Debian's /usr/bin/python3 with osgeo and scipy. Kept alive for a whole bench, so that tools take turns in one run and
start-up is in no figure.
  {"op": "load", "name", "file", "cols", "rows", "cell"}        raw little-endian float32
  {"op": "viewshed", "name", "col", "row", "tx", "rx", "range"}  GDAL ViewshedGenerate, k = 4/3; "out" keeps the answer (uint8)
  {"op": "hillshade", "name"}                                   GDAL DEMProcessing
  {"op": "points", "name", "file"}                              float64 rows then columns, for map_coordinates
  {"op": "map_coordinates", "name"}                             SciPy, order 1: sampling only
"""
import json
import sys
import time

import numpy as np
from osgeo import gdal

gdal.UseExceptions()
data = {}
points = {}


def load(q):
    a = np.fromfile(q["file"], dtype=np.float32).reshape(q["rows"], q["cols"])
    ds = gdal.GetDriverByName("MEM").Create("", q["cols"], q["rows"], 1, gdal.GDT_Float32)
    ds.SetGeoTransform([0, q["cell"], 0, 0, 0, -q["cell"]])
    ds.GetRasterBand(1).WriteArray(a)
    data[q["name"]] = (ds, a, q["cell"])
    return {}


def viewshed(q):
    ds, _, cell = data[q["name"]]
    x, y = (q["col"] + 0.5) * cell, -(q["row"] + 0.5) * cell
    t = time.perf_counter()
    out = gdal.ViewshedGenerate(
        ds.GetRasterBand(1), "MEM", "", [], x, y, q["tx"], q["rx"], 1, 0, 255, -1, 0.75, gdal.GVM_Edge, q["range"]
    )
    ms = 1000 * (time.perf_counter() - t)
    if "out" in q:
        seen = np.full((ds.RasterYSize, ds.RasterXSize), 255, np.uint8)
        gx, gy = out.GetGeoTransform()[0], out.GetGeoTransform()[3]
        c, r = round(gx / cell), round(-gy / cell)
        seen[r : r + out.RasterYSize, c : c + out.RasterXSize] = out.ReadAsArray()
        seen.tofile(q["out"])
    return {"ms": ms}


def hillshade(q):
    ds, _, _ = data[q["name"]]
    t = time.perf_counter()
    gdal.DEMProcessing("", ds, "hillshade", format="MEM")
    return {"ms": 1000 * (time.perf_counter() - t)}


def load_points(q):
    a = np.fromfile(q["file"], dtype=np.float64)
    points[q["name"]] = a.reshape(2, -1)
    return {}


def map_coordinates(q):
    from scipy.ndimage import map_coordinates as sample

    _, a, _ = data[q["name"]]
    t = time.perf_counter()
    sample(a, points[q["name"]], order=1, output=np.float32)
    return {"ms": 1000 * (time.perf_counter() - t)}


OPS = {"load": load, "viewshed": viewshed, "hillshade": hillshade, "points": load_points, "map_coordinates": map_coordinates}
for line in sys.stdin:
    q = json.loads(line)
    print(json.dumps(OPS[q["op"]](q)), flush=True)
