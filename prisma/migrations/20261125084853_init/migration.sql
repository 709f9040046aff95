-- CreateTable
CREATE TABLE "Lawn" (
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
    "note" TEXT NOT NULL DEFAULT '',
    "createdAt" DATETIME NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "deletedAt" DATETIME
);

-- CreateTable
CREATE TABLE "Plot" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "lawnId" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "isCheck" BOOLEAN NOT NULL DEFAULT false,
    "polygonM" JSONB,
    "areaM2" REAL NOT NULL,
    "areaEnteredValue" REAL,
    "areaEnteredUnit" TEXT,
    "note" TEXT NOT NULL DEFAULT '',
    "createdAt" DATETIME NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "deletedAt" DATETIME,
    CONSTRAINT "Plot_lawnId_fkey" FOREIGN KEY ("lawnId") REFERENCES "Lawn" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "Sprayer" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "lawnId" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "tankL" REAL NOT NULL,
    "tankEnteredValue" REAL,
    "tankEnteredUnit" TEXT,
    "carrierLPerHa" REAL,
    "carrierEnteredValue" REAL,
    "carrierEnteredUnit" TEXT,
    "swathM" REAL,
    "walkingMPerS" REAL,
    "catchTestMl" REAL,
    "catchTestAreaM2" REAL,
    "createdAt" DATETIME NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "deletedAt" DATETIME,
    CONSTRAINT "Sprayer_lawnId_fkey" FOREIGN KEY ("lawnId") REFERENCES "Lawn" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "Product" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "name" TEXT NOT NULL,
    "generic" BOOLEAN NOT NULL DEFAULT false,
    "form" TEXT NOT NULL,
    "role" TEXT NOT NULL DEFAULT 'other',
    "densityKgPerL" REAL,
    "nAmmoniacalPercent" REAL NOT NULL DEFAULT 0,
    "nNitratePercent" REAL NOT NULL DEFAULT 0,
    "nUreaPercent" REAL NOT NULL DEFAULT 0,
    "nOtherPercent" REAL NOT NULL DEFAULT 0,
    "p2o5Percent" REAL NOT NULL DEFAULT 0,
    "k2oPercent" REAL NOT NULL DEFAULT 0,
    "sPercent" REAL NOT NULL DEFAULT 0,
    "fePercent" REAL NOT NULL DEFAULT 0,
    "mnPercent" REAL NOT NULL DEFAULT 0,
    "mgPercent" REAL NOT NULL DEFAULT 0,
    "znPercent" REAL NOT NULL DEFAULT 0,
    "caPercent" REAL NOT NULL DEFAULT 0,
    "labelRateEnteredValue" REAL,
    "labelRateEnteredUnit" TEXT,
    "labelMaxRateKgPerHa" REAL,
    "labelMaxRateLPerHa" REAL,
    "labelMaxEnteredValue" REAL,
    "labelMaxEnteredUnit" TEXT,
    "minIntervalDays" REAL,
    "seasonCapKgPerHa" REAL,
    "seasonCapLPerHa" REAL,
    "seasonCapEnteredValue" REAL,
    "seasonCapEnteredUnit" TEXT,
    "composition" JSONB,
    "priceAmount" REAL,
    "priceCurrency" TEXT,
    "pricePerEnteredValue" REAL,
    "pricePerEnteredUnit" TEXT,
    "cautions" TEXT NOT NULL DEFAULT '',
    "source" TEXT NOT NULL DEFAULT '',
    "note" TEXT NOT NULL DEFAULT '',
    "createdAt" DATETIME NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "deletedAt" DATETIME
);

-- CreateTable
CREATE TABLE "Spray" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "lawnId" TEXT NOT NULL,
    "state" TEXT NOT NULL DEFAULT 'done',
    "startedAt" DATETIME NOT NULL,
    "endedAt" DATETIME,
    "sprayerId" TEXT,
    "carrierLPerHa" REAL,
    "carrierEnteredValue" REAL,
    "carrierEnteredUnit" TEXT,
    "plannedVolumeL" REAL,
    "actualVolumeL" REAL,
    "leftoverL" REAL,
    "waterPh" REAL,
    "waterAlkalinityMgPerLCaCO3" REAL,
    "targetPh" REAL,
    "predictedPh" REAL,
    "measuredPh" REAL,
    "airTempC" REAL,
    "relHumidityPercent" REAL,
    "windMPerS" REAL,
    "windFromDeg" REAL,
    "rainBeforeMm" REAL,
    "weatherSource" TEXT,
    "applicator" TEXT NOT NULL DEFAULT '',
    "overLimitReason" TEXT,
    "plan" JSONB,
    "note" TEXT NOT NULL DEFAULT '',
    "createdAt" DATETIME NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "deletedAt" DATETIME,
    CONSTRAINT "Spray_lawnId_fkey" FOREIGN KEY ("lawnId") REFERENCES "Lawn" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "Spray_sprayerId_fkey" FOREIGN KEY ("sprayerId") REFERENCES "Sprayer" ("id") ON DELETE SET NULL ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "SprayItem" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "sprayId" TEXT NOT NULL,
    "productId" TEXT NOT NULL,
    "mixingOrder" INTEGER NOT NULL,
    "rateEnteredValue" REAL NOT NULL,
    "rateEnteredUnit" TEXT NOT NULL,
    "rateKgPerHa" REAL,
    "rateLPerHa" REAL,
    "plannedKg" REAL,
    "plannedL" REAL,
    "actualKg" REAL,
    "actualL" REAL,
    "actualEnteredValue" REAL,
    "actualEnteredUnit" TEXT,
    CONSTRAINT "SprayItem_sprayId_fkey" FOREIGN KEY ("sprayId") REFERENCES "Spray" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "SprayItem_productId_fkey" FOREIGN KEY ("productId") REFERENCES "Product" ("id") ON DELETE RESTRICT ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "SprayPlot" (
    "sprayId" TEXT NOT NULL,
    "plotId" TEXT NOT NULL,
    "areaM2" REAL NOT NULL,

    PRIMARY KEY ("sprayId", "plotId"),
    CONSTRAINT "SprayPlot_sprayId_fkey" FOREIGN KEY ("sprayId") REFERENCES "Spray" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "SprayPlot_plotId_fkey" FOREIGN KEY ("plotId") REFERENCES "Plot" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "Viewpoint" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "lawnId" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "note" TEXT NOT NULL DEFAULT '',
    "referencePhotoId" TEXT,
    "createdAt" DATETIME NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "deletedAt" DATETIME,
    CONSTRAINT "Viewpoint_lawnId_fkey" FOREIGN KEY ("lawnId") REFERENCES "Lawn" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "Photo" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "lawnId" TEXT NOT NULL,
    "viewpointId" TEXT,
    "followsSprayId" TEXT,
    "sha256" TEXT NOT NULL,
    "kind" TEXT NOT NULL,
    "fileName" TEXT NOT NULL,
    "bytes" INTEGER NOT NULL,
    "widthPx" INTEGER NOT NULL,
    "heightPx" INTEGER NOT NULL,
    "takenAt" DATETIME NOT NULL,
    "takenAtOffsetMin" INTEGER NOT NULL,
    "takenAtBasis" TEXT NOT NULL,
    "cameraMake" TEXT,
    "cameraModel" TEXT,
    "exposureS" REAL,
    "fNumber" REAL,
    "iso" REAL,
    "focalLengthMm" REAL,
    "colourProfile" TEXT,
    "sunElevationDeg" REAL,
    "sunAzimuthDeg" REAL,
    "greyCard" JSONB,
    "chart" JSONB,
    "cautions" JSONB,
    "measureState" TEXT NOT NULL DEFAULT 'waiting',
    "measureMessage" TEXT,
    "mownSinceBaseline" BOOLEAN NOT NULL DEFAULT false,
    "note" TEXT NOT NULL DEFAULT '',
    "uploadedAt" DATETIME NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "deletedAt" DATETIME,
    CONSTRAINT "Photo_lawnId_fkey" FOREIGN KEY ("lawnId") REFERENCES "Lawn" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "Photo_viewpointId_fkey" FOREIGN KEY ("viewpointId") REFERENCES "Viewpoint" ("id") ON DELETE SET NULL ON UPDATE CASCADE,
    CONSTRAINT "Photo_followsSprayId_fkey" FOREIGN KEY ("followsSprayId") REFERENCES "Spray" ("id") ON DELETE SET NULL ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "Outline" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "photoId" TEXT NOT NULL,
    "plotId" TEXT NOT NULL,
    "corners" JSONB NOT NULL,
    "origin" TEXT NOT NULL,
    "confidence" REAL,
    "accepted" BOOLEAN NOT NULL DEFAULT true,
    "createdAt" DATETIME NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" DATETIME NOT NULL,
    CONSTRAINT "Outline_photoId_fkey" FOREIGN KEY ("photoId") REFERENCES "Photo" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "Outline_plotId_fkey" FOREIGN KEY ("plotId") REFERENCES "Plot" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "Reading" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "photoId" TEXT NOT NULL,
    "plotId" TEXT NOT NULL,
    "takenAt" DATETIME NOT NULL,
    "methodVersion" TEXT NOT NULL,
    "parameters" JSONB NOT NULL,
    "correction" TEXT NOT NULL DEFAULT 'none',
    "pixels" INTEGER NOT NULL,
    "turfPixels" INTEGER NOT NULL,
    "turfShare" REAL NOT NULL,
    "hueDeg" REAL,
    "saturation" REAL,
    "brightness" REAL,
    "dgci" REAL,
    "extrapolated" BOOLEAN NOT NULL DEFAULT false,
    "dgciPixelMean" REAL,
    "dgciPixelSd" REAL,
    "dgciLow95" REAL,
    "dgciHigh95" REAL,
    "labL" REAL,
    "labA" REAL,
    "labB" REAL,
    "ngrdi" REAL,
    "gli" REAL,
    "exg" REAL,
    "vari" REAL,
    "blocks" JSONB NOT NULL,
    "createdAt" DATETIME NOT NULL DEFAULT CURRENT_TIMESTAMP,
    CONSTRAINT "Reading_photoId_fkey" FOREIGN KEY ("photoId") REFERENCES "Photo" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "Reading_plotId_fkey" FOREIGN KEY ("plotId") REFERENCES "Plot" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "Change" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "photoId" TEXT NOT NULL,
    "baselinePhotoId" TEXT NOT NULL,
    "plotId" TEXT NOT NULL,
    "checkPlotId" TEXT NOT NULL,
    "methodVersion" TEXT NOT NULL,
    "difference" REAL,
    "low95" REAL,
    "high95" REAL,
    "differenceWithoutMarks" REAL,
    "low95WithoutMarks" REAL,
    "high95WithoutMarks" REAL,
    "refusedReason" TEXT,
    "createdAt" DATETIME NOT NULL DEFAULT CURRENT_TIMESTAMP,
    CONSTRAINT "Change_photoId_fkey" FOREIGN KEY ("photoId") REFERENCES "Photo" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "Change_baselinePhotoId_fkey" FOREIGN KEY ("baselinePhotoId") REFERENCES "Photo" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "Change_plotId_fkey" FOREIGN KEY ("plotId") REFERENCES "Plot" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "Mark" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "photoId" TEXT NOT NULL,
    "plotId" TEXT NOT NULL,
    "threadId" TEXT NOT NULL,
    "kind" TEXT NOT NULL,
    "kindByPerson" TEXT,
    "state" TEXT NOT NULL DEFAULT 'open',
    "isNew" BOOLEAN NOT NULL DEFAULT true,
    "score" REAL NOT NULL,
    "polygon" JSONB NOT NULL,
    "areaShare" REAL NOT NULL,
    "areaM2" REAL,
    "severityDeltaE00" REAL,
    "note" TEXT NOT NULL DEFAULT '',
    "createdAt" DATETIME NOT NULL DEFAULT CURRENT_TIMESTAMP,
    CONSTRAINT "Mark_photoId_fkey" FOREIGN KEY ("photoId") REFERENCES "Photo" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "Mark_plotId_fkey" FOREIGN KEY ("plotId") REFERENCES "Plot" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "Rating" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "plotId" TEXT NOT NULL,
    "photoId" TEXT,
    "trialId" TEXT,
    "rater" TEXT NOT NULL,
    "score" INTEGER NOT NULL,
    "blind" BOOLEAN NOT NULL DEFAULT false,
    "ratedAt" DATETIME NOT NULL DEFAULT CURRENT_TIMESTAMP,
    CONSTRAINT "Rating_plotId_fkey" FOREIGN KEY ("plotId") REFERENCES "Plot" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "Rating_photoId_fkey" FOREIGN KEY ("photoId") REFERENCES "Photo" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "Rating_trialId_fkey" FOREIGN KEY ("trialId") REFERENCES "Trial" ("id") ON DELETE SET NULL ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "Trial" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "lawnId" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "question" TEXT NOT NULL,
    "design" TEXT NOT NULL,
    "blocks" INTEGER NOT NULL,
    "seed" INTEGER NOT NULL,
    "startsOn" TEXT NOT NULL,
    "photoDays" JSONB NOT NULL,
    "layout" JSONB NOT NULL,
    "note" TEXT NOT NULL DEFAULT '',
    "createdAt" DATETIME NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "deletedAt" DATETIME,
    CONSTRAINT "Trial_lawnId_fkey" FOREIGN KEY ("lawnId") REFERENCES "Lawn" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "Treatment" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "trialId" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "isCheck" BOOLEAN NOT NULL DEFAULT false,
    "displayOrder" INTEGER NOT NULL,
    "carrierLPerHa" REAL,
    "carrierEnteredValue" REAL,
    "carrierEnteredUnit" TEXT,
    CONSTRAINT "Treatment_trialId_fkey" FOREIGN KEY ("trialId") REFERENCES "Trial" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "TreatmentItem" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "treatmentId" TEXT NOT NULL,
    "productId" TEXT NOT NULL,
    "rateEnteredValue" REAL NOT NULL,
    "rateEnteredUnit" TEXT NOT NULL,
    CONSTRAINT "TreatmentItem_treatmentId_fkey" FOREIGN KEY ("treatmentId") REFERENCES "Treatment" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "TreatmentItem_productId_fkey" FOREIGN KEY ("productId") REFERENCES "Product" ("id") ON DELETE RESTRICT ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "TrialPlot" (
    "trialId" TEXT NOT NULL,
    "plotId" TEXT NOT NULL,
    "treatmentId" TEXT NOT NULL,
    "block" INTEGER NOT NULL,
    "position" INTEGER NOT NULL,
    "excludedReason" TEXT,

    PRIMARY KEY ("trialId", "plotId"),
    CONSTRAINT "TrialPlot_trialId_fkey" FOREIGN KEY ("trialId") REFERENCES "Trial" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "TrialPlot_plotId_fkey" FOREIGN KEY ("plotId") REFERENCES "Plot" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "TrialPlot_treatmentId_fkey" FOREIGN KEY ("treatmentId") REFERENCES "Treatment" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "WeatherHour" (
    "lawnId" TEXT NOT NULL,
    "hourStart" DATETIME NOT NULL,
    "airTempC" REAL,
    "relHumidityPercent" REAL,
    "windMPerS" REAL,
    "windHeightM" REAL,
    "gustMPerS" REAL,
    "windFromDeg" REAL,
    "rainMm" REAL,
    "solarWPerM2" REAL,
    "pressureKPa" REAL,
    "source" TEXT NOT NULL,
    "importId" TEXT,

    PRIMARY KEY ("lawnId", "hourStart"),
    CONSTRAINT "WeatherHour_lawnId_fkey" FOREIGN KEY ("lawnId") REFERENCES "Lawn" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "WeatherHour_importId_fkey" FOREIGN KEY ("importId") REFERENCES "WeatherImport" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "WeatherImport" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "lawnId" TEXT NOT NULL,
    "fileName" TEXT NOT NULL,
    "hours" INTEGER NOT NULL,
    "createdAt" DATETIME NOT NULL DEFAULT CURRENT_TIMESTAMP,
    CONSTRAINT "WeatherImport_lawnId_fkey" FOREIGN KEY ("lawnId") REFERENCES "Lawn" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "ShareLink" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "tokenHash" TEXT NOT NULL,
    "trialId" TEXT NOT NULL,
    "createdAt" DATETIME NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "revokedAt" DATETIME,
    CONSTRAINT "ShareLink_trialId_fkey" FOREIGN KEY ("trialId") REFERENCES "Trial" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "Setting" (
    "name" TEXT NOT NULL PRIMARY KEY,
    "value" JSONB NOT NULL
);

-- CreateIndex
CREATE UNIQUE INDEX "Plot_lawnId_name_key" ON "Plot"("lawnId", "name");

-- CreateIndex
CREATE INDEX "Sprayer_lawnId_idx" ON "Sprayer"("lawnId");

-- CreateIndex
CREATE INDEX "Product_deletedAt_name_idx" ON "Product"("deletedAt", "name");

-- CreateIndex
CREATE INDEX "Spray_lawnId_startedAt_idx" ON "Spray"("lawnId", "startedAt");

-- CreateIndex
CREATE INDEX "SprayItem_sprayId_mixingOrder_idx" ON "SprayItem"("sprayId", "mixingOrder");

-- CreateIndex
CREATE INDEX "SprayItem_productId_idx" ON "SprayItem"("productId");

-- CreateIndex
CREATE INDEX "SprayPlot_plotId_idx" ON "SprayPlot"("plotId");

-- CreateIndex
CREATE UNIQUE INDEX "Viewpoint_lawnId_name_key" ON "Viewpoint"("lawnId", "name");

-- CreateIndex
CREATE UNIQUE INDEX "Photo_sha256_key" ON "Photo"("sha256");

-- CreateIndex
CREATE INDEX "Photo_lawnId_takenAt_idx" ON "Photo"("lawnId", "takenAt");

-- CreateIndex
CREATE INDEX "Photo_viewpointId_takenAt_idx" ON "Photo"("viewpointId", "takenAt");

-- CreateIndex
CREATE INDEX "Photo_followsSprayId_idx" ON "Photo"("followsSprayId");

-- CreateIndex
CREATE INDEX "Photo_measureState_idx" ON "Photo"("measureState");

-- CreateIndex
CREATE INDEX "Outline_plotId_idx" ON "Outline"("plotId");

-- CreateIndex
CREATE UNIQUE INDEX "Outline_photoId_plotId_key" ON "Outline"("photoId", "plotId");

-- CreateIndex
CREATE INDEX "Reading_plotId_takenAt_idx" ON "Reading"("plotId", "takenAt");

-- CreateIndex
CREATE UNIQUE INDEX "Reading_photoId_plotId_key" ON "Reading"("photoId", "plotId");

-- CreateIndex
CREATE INDEX "Change_plotId_idx" ON "Change"("plotId");

-- CreateIndex
CREATE UNIQUE INDEX "Change_photoId_baselinePhotoId_plotId_key" ON "Change"("photoId", "baselinePhotoId", "plotId");

-- CreateIndex
CREATE INDEX "Mark_photoId_idx" ON "Mark"("photoId");

-- CreateIndex
CREATE INDEX "Mark_plotId_state_idx" ON "Mark"("plotId", "state");

-- CreateIndex
CREATE INDEX "Mark_threadId_idx" ON "Mark"("threadId");

-- CreateIndex
CREATE INDEX "Rating_plotId_ratedAt_idx" ON "Rating"("plotId", "ratedAt");

-- CreateIndex
CREATE INDEX "Rating_trialId_idx" ON "Rating"("trialId");

-- CreateIndex
CREATE INDEX "Trial_lawnId_idx" ON "Trial"("lawnId");

-- CreateIndex
CREATE UNIQUE INDEX "Treatment_trialId_name_key" ON "Treatment"("trialId", "name");

-- CreateIndex
CREATE INDEX "TreatmentItem_treatmentId_idx" ON "TreatmentItem"("treatmentId");

-- CreateIndex
CREATE INDEX "TreatmentItem_productId_idx" ON "TreatmentItem"("productId");

-- CreateIndex
CREATE INDEX "TrialPlot_plotId_idx" ON "TrialPlot"("plotId");

-- CreateIndex
CREATE INDEX "TrialPlot_treatmentId_idx" ON "TrialPlot"("treatmentId");

-- CreateIndex
CREATE INDEX "WeatherHour_importId_idx" ON "WeatherHour"("importId");

-- CreateIndex
CREATE INDEX "WeatherImport_lawnId_idx" ON "WeatherImport"("lawnId");

-- CreateIndex
CREATE UNIQUE INDEX "ShareLink_tokenHash_key" ON "ShareLink"("tokenHash");
