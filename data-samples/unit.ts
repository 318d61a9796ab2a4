import type { Terminal, Unit } from "../src/plan/types.ts";

/** The unit of the samples: values of our own, no maker's. 6 m tip, 4 W, 48 hours of fuel. */
export const UNIT: Unit = {
  name: "Unit 1",
  tipHeightM: 6,
  footprintM: [10, 10],
  headingDeg: 90,
  maxSlopeDeg: 5,
  cautionSlopeDeg: 3,
  fuelL: 24,
  burnLPerH: 0.5,
  ethernetCableM: 100,
  services: [
    {
      id: "cell",
      name: "Cell",
      kind: "lte",
      downlinkMHz: 763,
      uplinkMHz: 793,
      channelMHz: 10,
      txPowerDbm: 36,
      cableLossDb: 1.5,
      noiseFigureDb: 4,
      antenna: { pattern: "omni", gainDbi: 9, tiltDeg: 0, azimuthDeg: null },
      needs: [
        { id: "talk", name: "Voice and text", rsrpDbm: -115, downlinkMbps: 0.1, uplinkMbps: 0.1 },
        { id: "video", name: "Video up", downlinkMbps: 1, uplinkMbps: 2 },
      ],
    },
    {
      id: "wifi",
      name: "Wi-Fi",
      kind: "wifi",
      frequencyMHz: 2437,
      channelMHz: 20,
      txPowerDbm: 27,
      cableLossDb: 1,
      antenna: { pattern: "omni", gainDbi: 5 },
      needs: [{ id: "data", name: "Data", levelDbm: -75 }],
    },
  ],
  dish: {
    diameterM: 0.9,
    eyeHeightM: 1.6,
    downlinkGHz: 12.2,
    uplinkGHz: 14.2,
    polarization: "vertical",
    minElevationDeg: 10,
    marginDeg: 5,
    treeMarginDeg: 10,
    apart: false,
    cableM: 40,
  },
};

/** What people carry in the samples. */
export const TERMINALS: Terminal[] = [
  {
    id: "phone",
    name: "Phone in hand",
    powerDbm: 23,
    gainDbi: -1,
    noiseFigureDb: 9,
    bodyLossDb: 3,
    vehicleLossDb: 8,
    heightM: 1.5,
  },
  {
    id: "modem",
    name: "Vehicle modem, roof antenna",
    powerDbm: 23,
    gainDbi: 2,
    noiseFigureDb: 7,
    bodyLossDb: 0,
    heightM: 2.2,
  },
];
