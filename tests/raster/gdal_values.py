"""Prints what GDAL reads: for each file its size, extent and 1,000 seeded places with their cell, longitude and
latitude, the cell's height in the file's numbers, and the bilinear height at the place. One JSON object per line."""

import json
import random
import sys

import numpy as np
from osgeo import gdal, osr

gdal.UseExceptions()
osr.UseExceptions()
gdal.SetConfigOption("GTIFF_REPORT_COMPD_CS", "YES")
count = int(sys.argv[1])
wgs = osr.SpatialReference()
wgs.ImportFromEPSG(4326)
wgs.SetAxisMappingStrategy(osr.OAMS_TRADITIONAL_GIS_ORDER)


def level(band, mask_band):
    """Heights of one band with everything void as NaN."""
    data = band.ReadAsArray().astype(np.float64)
    mask = mask_band.ReadAsArray()
    data[mask == 0] = np.nan
    nodata = band.GetNoDataValue()
    if nodata is not None and not np.isnan(nodata):
        raw = band.ReadAsArray()
        data[raw == raw.dtype.type(nodata) if abs(nodata) < 3.5e38 else False] = np.nan
    scale, offset = band.GetScale() or 1.0, band.GetOffset() or 0.0
    return data * scale + offset


for path in sys.argv[2:]:
    rng = random.Random(20260101)
    ds = gdal.Open(path)
    band = ds.GetRasterBand(1)
    gt = ds.GetGeoTransform()
    w, h = ds.RasterXSize, ds.RasterYSize
    srs = ds.GetSpatialRef().Clone()
    if srs.IsCompound():
        srs.StripVertical()
    srs.SetAxisMappingStrategy(osr.OAMS_TRADITIONAL_GIS_ORDER)
    ct = osr.CoordinateTransformation(srs, wgs)
    data = level(band, band.GetMaskBand())
    up = gt[5] > 0
    places = []
    for i in range(count):
        c, r = rng.randrange(w), rng.randrange(h)
        # Every second place lies off the centre of its cell.
        fx, fy = (rng.random(), rng.random()) if i % 2 else (0.5, 0.5)
        x, y = gt[0] + (c + fx) * gt[1], gt[3] + (r + fy) * gt[5]
        lng, lat, _ = ct.TransformPoint(x, y)
        px, py = min(max(c + fx - 0.5, 0), w - 1), min(max(r + fy - 0.5, 0), h - 1)
        c0, r0 = min(int(px), max(w - 2, 0)), min(int(py), max(h - 2, 0))
        bil = None
        if w > 1 and h > 1:
            q = data[r0 : r0 + 2, c0 : c0 + 2]
            u, v = px - c0, py - r0
            bil = float(q[0, 0] * (1 - u) * (1 - v) + q[0, 1] * u * (1 - v) + q[1, 0] * (1 - u) * v + q[1, 1] * u * v)
            # GDAL's own resampling agrees wherever all four cells count: said once, below.
        value = data[r, c]
        places.append([c, h - 1 - r if up else r, fx, 1 - fy if up else fy, lng, lat,
                       None if np.isnan(value) else float(value), None if bil is None or np.isnan(bil) else bil])
    checked = worst = 0
    for p in [q for q in places if q[7] is not None and q[2] != 0.5][:50]:
        col, row = p[0] + p[2], (h - p[1] - p[3]) if up else p[1] + p[3]
        if not (1 < col < w - 1 and 1 < row < h - 1):
            continue
        got = band.ReadAsArray(col - 0.5, row - 0.5, 1, 1, buf_xsize=1, buf_ysize=1, buf_type=gdal.GDT_Float64,
                               resample_alg=gdal.GRIORA_Bilinear)
        if got is not None:
            s, o = band.GetScale() or 1.0, band.GetOffset() or 0.0
            checked += 1
            worst = max(worst, abs(float(got[0, 0]) * s + o - p[7]))
    overviews = []
    for i in range(band.GetOverviewCount()):
        o = band.GetOverview(i)
        od = level(o, o.GetMaskBand())
        cells = []
        for _ in range(count):
            c, r = rng.randrange(o.XSize), rng.randrange(o.YSize)
            cells.append([c, o.YSize - 1 - r if up else r, None if np.isnan(od[r, c]) else float(od[r, c])])
        overviews.append({"width": o.XSize, "height": o.YSize, "cells": cells})
    x0, x1 = gt[0], gt[0] + w * gt[1]
    y0, y1 = gt[3], gt[3] + h * gt[5]
    settled = data[::-1] if up else data
    pooled = []
    for factor in (2, 4, 8):
        full = np.full((-(-h // factor) * factor, -(-w // factor) * factor), -np.inf)
        full[:h, :w] = np.where(np.isnan(settled), -np.inf, settled)
        m = full.reshape(full.shape[0] // factor, factor, full.shape[1] // factor, factor).max(axis=(1, 3))
        cells = []
        for _ in range(200):
            c, r = rng.randrange(m.shape[1]), rng.randrange(m.shape[0])
            cells.append([c, r, None if np.isinf(m[r, c]) else float(m[r, c])])
        pooled.append({"factor": factor, "width": m.shape[1], "height": m.shape[0], "cells": cells})
    print(json.dumps({
        "path": path, "width": w, "height": h, "unit": band.GetUnitType(),
        "extent": [min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)], "cell": [abs(gt[1]), abs(gt[5])],
        "valid": int(np.sum(~np.isnan(data))), "places": places, "overviews": overviews, "pooled": pooled,
        "gdalBilinear": {"checked": checked, "worst": worst},
    }))
