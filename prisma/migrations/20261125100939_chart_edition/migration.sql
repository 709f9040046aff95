-- RedefineTables
PRAGMA defer_foreign_keys=ON;
PRAGMA foreign_keys=OFF;
CREATE TABLE "new_Lawn" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "name" TEXT NOT NULL,
    "place" TEXT NOT NULL DEFAULT '',
    "latitudeDeg" REAL,
    "longitudeDeg" REAL,
    "elevationM" REAL,
    "timeZone" TEXT NOT NULL,
    "unitSystem" TEXT NOT NULL DEFAULT 'us-customary',
    "grass" TEXT NOT NULL DEFAULT '',
    "mowingHeightMm" REAL,
    "mowingHeightEnteredValue" REAL,
    "mowingHeightEnteredUnit" TEXT,
    "waterPh" REAL,
    "waterAlkalinityMgPerLCaCO3" REAL,
    "waterHardnessMgPerLCaCO3" REAL,
    "waterChlorinated" BOOLEAN NOT NULL DEFAULT false,
    "chartEdition" TEXT NOT NULL DEFAULT '2014',
    "note" TEXT NOT NULL DEFAULT '',
    "createdAt" DATETIME NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "deletedAt" DATETIME
);
INSERT INTO "new_Lawn" ("createdAt", "deletedAt", "elevationM", "grass", "id", "latitudeDeg", "longitudeDeg", "mowingHeightEnteredUnit", "mowingHeightEnteredValue", "mowingHeightMm", "name", "note", "place", "timeZone", "unitSystem", "waterAlkalinityMgPerLCaCO3", "waterChlorinated", "waterHardnessMgPerLCaCO3", "waterPh") SELECT "createdAt", "deletedAt", "elevationM", "grass", "id", "latitudeDeg", "longitudeDeg", "mowingHeightEnteredUnit", "mowingHeightEnteredValue", "mowingHeightMm", "name", "note", "place", "timeZone", "unitSystem", "waterAlkalinityMgPerLCaCO3", "waterChlorinated", "waterHardnessMgPerLCaCO3", "waterPh" FROM "Lawn";
DROP TABLE "Lawn";
ALTER TABLE "new_Lawn" RENAME TO "Lawn";
PRAGMA foreign_keys=ON;
PRAGMA defer_foreign_keys=OFF;
