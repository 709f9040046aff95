-- RedefineTables
PRAGMA defer_foreign_keys=ON;
PRAGMA foreign_keys=OFF;
CREATE TABLE "new_WeatherHour" (
    "lawnId" TEXT NOT NULL,
    "hourStart" DATETIME NOT NULL,
    "layer" INTEGER NOT NULL DEFAULT 1,
    "airTempC" REAL,
    "relHumidityPercent" REAL,
    "windMPerS" REAL,
    "windHeightM" REAL,
    "gustMPerS" REAL,
    "windFromDeg" REAL,
    "rainMm" REAL,
    "rainChancePercent" REAL,
    "solarWPerM2" REAL,
    "cloudPercent" REAL,
    "pressureKPa" REAL,
    "leafWetMin" REAL,
    "source" TEXT NOT NULL,
    "importId" TEXT,

    PRIMARY KEY ("lawnId", "hourStart", "layer"),
    CONSTRAINT "WeatherHour_lawnId_fkey" FOREIGN KEY ("lawnId") REFERENCES "Lawn" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "WeatherHour_importId_fkey" FOREIGN KEY ("importId") REFERENCES "WeatherImport" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);
INSERT INTO "new_WeatherHour" ("airTempC", "gustMPerS", "hourStart", "importId", "lawnId", "pressureKPa", "rainMm", "relHumidityPercent", "solarWPerM2", "source", "windFromDeg", "windHeightM", "windMPerS") SELECT "airTempC", "gustMPerS", "hourStart", "importId", "lawnId", "pressureKPa", "rainMm", "relHumidityPercent", "solarWPerM2", "source", "windFromDeg", "windHeightM", "windMPerS" FROM "WeatherHour";
DROP TABLE "WeatherHour";
ALTER TABLE "new_WeatherHour" RENAME TO "WeatherHour";
CREATE INDEX "WeatherHour_importId_idx" ON "WeatherHour"("importId");
CREATE TABLE "new_WeatherImport" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "lawnId" TEXT NOT NULL,
    "layer" INTEGER NOT NULL DEFAULT 2,
    "state" TEXT NOT NULL DEFAULT 'done',
    "fileName" TEXT NOT NULL,
    "hours" INTEGER NOT NULL,
    "firstHour" DATETIME,
    "lastHour" DATETIME,
    "rowsRead" INTEGER NOT NULL DEFAULT 0,
    "badRows" INTEGER NOT NULL DEFAULT 0,
    "duplicateRows" INTEGER NOT NULL DEFAULT 0,
    "mapping" JSONB,
    "createdAt" DATETIME NOT NULL DEFAULT CURRENT_TIMESTAMP,
    CONSTRAINT "WeatherImport_lawnId_fkey" FOREIGN KEY ("lawnId") REFERENCES "Lawn" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);
INSERT INTO "new_WeatherImport" ("createdAt", "fileName", "hours", "id", "lawnId") SELECT "createdAt", "fileName", "hours", "id", "lawnId" FROM "WeatherImport";
DROP TABLE "WeatherImport";
ALTER TABLE "new_WeatherImport" RENAME TO "WeatherImport";
CREATE UNIQUE INDEX "WeatherImport_lawnId_layer_key" ON "WeatherImport"("lawnId", "layer");
PRAGMA foreign_keys=ON;
PRAGMA defer_foreign_keys=OFF;
