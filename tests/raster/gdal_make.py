"""Writes rasters of many encodings into a folder, all holding the same small terrain, made here (no outside data).
Prints one JSON object: file name to what it is for."""

import json
import os
import sys

import numpy as np
from osgeo import gdal, osr

gdal.UseExceptions()
out = sys.argv[1]
W, H = 157, 131  # neither a multiple of any tile
ys, xs = np.mgrid[0:H, 0:W]
rng = np.random.default_rng(7)
GROUND = 900 + 300 * np.sin(xs / 23.0) * np.cos(ys / 17.0) + 2.0 * xs + rng.normal(0, 1, (H, W))
VOID = (xs - 60) ** 2 + (ys - 40) ** 2 < 150
NODATA = -9999


def srs_of(code):
    s = osr.SpatialReference()
    s.SetFromUserInput(code if isinstance(code, str) else f"EPSG:{code}")
    return s


made = {}


def make(name, kind=gdal.GDT_Int16, options=(), nodata=NODATA, data=None, bands=1, gt=(300000, 30, 0, 5100000, 0, -30),
         crs="EPSG:32612", what="reads", scale=None, unit=None, mask=None, meta=None, driver="GTiff", void=True, finish=None):
    path = os.path.join(out, name)
    values = np.array(GROUND if data is None else data, dtype=np.float64)
    if kind not in (gdal.GDT_Float32, gdal.GDT_Float64):
        values = np.round(values)
    if void and nodata is not None:
        values = np.where(VOID, nodata, values)
    mem = gdal.GetDriverByName("MEM").Create("", W, H, bands, kind)
    if gt is not None:
        mem.SetGeoTransform(gt)
    if crs is not None:
        mem.SetSpatialRef(srs_of(crs))
    for b in range(bands):
        band = mem.GetRasterBand(b + 1)
        band.WriteArray(values if b == 0 else values * 0 + 1 + b)
        if nodata is not None:
            band.SetNoDataValue(nodata)
    if scale is not None:
        mem.GetRasterBand(1).SetScale(scale[0])
        mem.GetRasterBand(1).SetOffset(scale[1])
    if unit is not None:
        mem.GetRasterBand(1).SetUnitType(unit)
    for k, v in (meta or {}).items():
        mem.SetMetadataItem(k, v)
    if mask is not None:
        mem.CreateMaskBand(gdal.GMF_PER_DATASET)
        mem.GetRasterBand(1).GetMaskBand().WriteArray(mask)
    gdal.SetConfigOption("GDAL_TIFF_INTERNAL_MASK", "YES")
    ds = gdal.GetDriverByName(driver).CreateCopy(path, mem, options=list(options))
    if finish:
        finish(ds)
    ds = None
    made[name] = what


TILED = ["TILED=YES", "BLOCKXSIZE=32", "BLOCKYSIZE=48"]
F32, F64 = gdal.GDT_Float32, gdal.GDT_Float64
for comp in ("NONE", "LZW", "DEFLATE", "ZSTD", "PACKBITS"):
    for order in ("LITTLE", "BIG"):
        for tiles in (False, True):
            base = [f"COMPRESS={comp}", f"ENDIANNESS={order}"] + (TILED if tiles else ["BLOCKYSIZE=13"])
            tag = f"{comp.lower()}_{order.lower()}_{'tiles' if tiles else 'strips'}"
            make(f"i16_{tag}.tif", options=base)
            if comp in ("LZW", "DEFLATE", "ZSTD"):
                make(f"i16_p2_{tag}.tif", options=base + ["PREDICTOR=2"])
                make(f"i32_p2_{tag}.tif", gdal.GDT_Int32, base + ["PREDICTOR=2"])
                # This libtiff writes predictor 3 in big-endian files so that it cannot read them back itself.
                if order == "LITTLE":
                    make(f"f32_p3_{tag}.tif", F32, base + ["PREDICTOR=3"])
                    make(f"f64_p3_{tag}.tif", F64, base + ["PREDICTOR=3"])
                make(f"f32_p2_{tag}.tif", F32, base + ["PREDICTOR=2"])
make("u8.tif", gdal.GDT_Byte, ["COMPRESS=DEFLATE"], nodata=0, data=(GROUND - 500) / 8)
make("i8.tif", gdal.GDT_Byte, ["PIXELTYPE=SIGNEDBYTE"], nodata=None, data=np.clip((GROUND - 900) / 8, 0, 120))
make("u16.tif", gdal.GDT_UInt16, ["COMPRESS=LZW"], nodata=65535)
make("u32.tif", gdal.GDT_UInt32, ["COMPRESS=DEFLATE", "PREDICTOR=2"], nodata=4294967295)
make("f64.tif", F64, ["COMPRESS=LZW"])
make("f64_p2.tif", F64, ["COMPRESS=ZSTD", "PREDICTOR=2"])
for bits in (11, 12, 13):
    make(f"nbits{bits}.tif", gdal.GDT_UInt16, [f"NBITS={bits}", "COMPRESS=DEFLATE"], nodata=2047, void=True)
make("nbits4.tif", gdal.GDT_Byte, ["NBITS=4"], nodata=None, data=np.clip(GROUND / 100, 0, 15))
make("nbits20.tif", gdal.GDT_UInt32, ["NBITS=20"], nodata=1048575)
make("half.tif", F32, ["NBITS=16", "COMPRESS=DEFLATE"], nodata=-999)
make("half_p3.tif", F32, ["NBITS=16", "COMPRESS=DEFLATE", "PREDICTOR=3"], nodata=-999)
make("half_big.tif", F32, ["NBITS=16", "ENDIANNESS=BIG"], nodata=-999)
make("bands_pixel.tif", bands=3, options=["INTERLEAVE=PIXEL", "COMPRESS=LZW", "PREDICTOR=2", "PHOTOMETRIC=MINISBLACK"] + TILED)
make("bands_pixel_f32.tif", F32, bands=2, options=["INTERLEAVE=PIXEL", "COMPRESS=DEFLATE", "PREDICTOR=3"])
make("bands_plane.tif", bands=3, options=["INTERLEAVE=BAND", "COMPRESS=DEFLATE", "PHOTOMETRIC=MINISBLACK"] + TILED)
make("bands_plane_strips.tif", bands=2, options=["INTERLEAVE=BAND"])
make("lerc_nan.tif", F32, ["COMPRESS=LERC"] + TILED, nodata=float("nan"))
make("lerc_i16.tif", options=["COMPRESS=LERC_DEFLATE"])
make("lerc_bands.tif", F32, bands=2, options=["COMPRESS=LERC_ZSTD", "INTERLEAVE=PIXEL"])
make("lerc_lossy.tif", F32, options=["COMPRESS=LERC", "MAX_Z_ERROR=0.05"], what="lossy")
make("nan.tif", F32, ["COMPRESS=DEFLATE"], nodata=float("nan"))
make("lowest_float.tif", F32, ["COMPRESS=ZSTD"], nodata=-3.4028234663852886e38)
make("nodata_decimal.tif", F32, nodata=-9999.9)
make("undeclared_void.tif", nodata=None, data=np.where(VOID, -32768, np.round(GROUND)), what="range")
make("scaled.tif", gdal.GDT_UInt16, scale=(0.1, 500), nodata=65535, data=(GROUND - 500) * 10)
make("mask.tif", nodata=None, mask=np.where(VOID, 0, 255).astype(np.uint8), options=["COMPRESS=DEFLATE"] + TILED)
make("mask_lzw_strips.tif", nodata=None, mask=np.where(VOID, 0, 255).astype(np.uint8), options=["COMPRESS=LZW"])
make("bigtiff_tiles.tif", options=["BIGTIFF=YES", "COMPRESS=LZW", "ENDIANNESS=BIG"] + TILED)
make("cog.tif", driver="COG", options=["COMPRESS=DEFLATE", "BLOCKSIZE=128", "OVERVIEWS=AUTO", "RESAMPLING=NEAREST"])
make("cog_mask.tif", driver="COG", nodata=None, mask=np.where(VOID, 0, 255).astype(np.uint8),
     options=["COMPRESS=LZW", "BLOCKSIZE=128", "OVERVIEWS=AUTO", "RESAMPLING=NEAREST"])
make("overviews_averaged.tif", F32, options=TILED, finish=lambda ds: ds.BuildOverviews("AVERAGE", [2, 4, 8]))
make("feet.tif", F32, unit="ft", crs="EPSG:2269", gt=(7700000, 100, 0, 700000, 0, -100), data=GROUND / 0.3048, what="feet")
make("us_feet.tif", F32, unit="US survey foot", crs="EPSG:2263", gt=(980000, 100, 0, 200000, 0, -100),
     data=GROUND * 3937 / 1200, what="us-feet")
make("navd88_usft.tif", F32, crs="EPSG:2263+6360", gt=(980000, 100, 0, 200000, 0, -100), data=GROUND * 3937 / 1200, what="us-feet")
make("egm2008.tif", F32, crs="EPSG:32612+3855")
make("geographic.tif", crs="EPSG:4326", gt=(-112.5, 0.0003, 0, 46.0, 0, -0.0002))
make("geographic_360.tif", crs="EPSG:4326", gt=(247.5, 0.0003, 0, 46.0, 0, -0.0002))
make("antimeridian.tif", crs="EPSG:4326", gt=(179.98, 0.0003, 0, -16.0, 0, -0.0002))
make("not_square.tif", gt=(300000, 30, 0, 5100000, 0, -11.5))
make("point.tif", meta={"AREA_OR_POINT": "Point"})
make("south_up.tif", gt=(300000, 30, 0, 5000000, 0, 30), options=["COMPRESS=DEFLATE"] + TILED)
make("south_up_point.tif", gt=(300000, 30, 0, 5000000, 0, 30), meta={"AREA_OR_POINT": "Point"})
make("lambert.tif", crs="EPSG:2154", gt=(700000, 25, 0, 6600000, 0, -25))
make("laea.tif", crs="EPSG:3035", gt=(4321000, 25, 0, 3210000, 0, -25))
make("swiss.tif", crs="EPSG:2056", gt=(2600000, 25, 0, 1200000, 0, -25))
make("mercator.tif", crs="EPSG:3857", gt=(-12500000, 38, 0, 5800000, 0, -38))
make("dutch.tif", crs="EPSG:28992+5709", gt=(85000, 5, 0, 447000, 0, -5))
make("own_tm.tif", crs="+proj=tmerc +lat_0=40 +lon_0=-100 +k=0.9999 +x_0=500000 +y_0=100000 +datum=NAD83 +units=us-ft", gt=(1640000, 100, 0, 400000, 0, -100))
make("own_lcc.tif", crs="+proj=lcc +lat_0=40 +lon_0=-100 +lat_1=38 +lat_2=42 +x_0=500000 +y_0=100000 +datum=WGS84", gt=(500000, 30, 0, 200000, 0, -30))
make("own_aea.tif", crs="+proj=aea +lat_0=23 +lon_0=-96 +lat_1=29.5 +lat_2=45.5 +x_0=0 +y_0=0 +datum=NAD83", gt=(100000, 30, 0, 1800000, 0, -30))
make("own_polar.tif", crs="+proj=stere +lat_0=90 +lat_ts=70 +lon_0=-45 +datum=WGS84", gt=(100000, 30, 0, -2800000, 0, -30))
make("own_laea.tif", crs="+proj=laea +lat_0=45 +lon_0=-100 +datum=WGS84", gt=(100000, 30, 0, 100000, 0, -30))
make("rotated.tif", gt=(300000, 29, 7, 5100000, 7, -29), what="terrain.rotated")
make("mirrored.tif", gt=(300000, -30, 0, 5100000, 0, -30), what="terrain.rotated")
make("no_crs.tif", crs=None, what="terrain.no-crs")
make("no_place.tif", gt=None, crs=None, what="terrain.no-georeference")
make("krovak.tif", crs="EPSG:5514", gt=(-700000, 30, 0, -1000000, 0, -30), what="terrain.unverified-crs")
make("jpeg.tif", gdal.GDT_Byte, ["COMPRESS=JPEG"], nodata=None, data=GROUND / 8, what="terrain.unsupported")
make("lzma.tif", options=["COMPRESS=LZMA"], what="terrain.unsupported")
make("complex.tif", gdal.GDT_CFloat32, nodata=None, what="terrain.unsupported")
make("picture.tif", gdal.GDT_Byte, bands=3, nodata=None, data=GROUND / 8, options=["PHOTOMETRIC=RGB"], what="terrain.not-elevation")
make("all_void.tif", data=GROUND * 0 + NODATA, what="terrain.coverage")
make("kelvin.tif", F32, unit="K", data=GROUND / 4, what="terrain.not-elevation")
classes = np.kron(rng.choice([11, 21, 41, 52, 71, 95], (H // 6 + 1, W // 6 + 1)), np.ones((6, 6)))[:H, :W]
make("classes.tif", gdal.GDT_Byte, data=classes, nodata=255, what="terrain.not-elevation")


def sparse(name, options):
    ds = gdal.GetDriverByName("GTiff").Create(os.path.join(out, name), W, H, 1, gdal.GDT_Int16,
                                               ["SPARSE_OK=TRUE"] + options)
    ds.SetGeoTransform((300000, 30, 0, 5100000, 0, -30))
    ds.SetSpatialRef(srs_of(32612))
    ds.GetRasterBand(1).SetNoDataValue(NODATA)
    ds.GetRasterBand(1).WriteArray(np.round(GROUND[:48, :64]), 32, 48)
    ds = None
    made[name] = "reads"


sparse("sparse_tiles.tif", TILED + ["COMPRESS=DEFLATE"])
sparse("sparse_strips.tif", ["BLOCKYSIZE=16"])
print(json.dumps(made))
