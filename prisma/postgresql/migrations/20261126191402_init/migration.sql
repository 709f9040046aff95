-- CreateSchema
CREATE SCHEMA IF NOT EXISTS "public";

-- CreateTable
CREATE TABLE "DoorSession" (
    "hash" TEXT NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL,
    "endsAt" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "DoorSession_pkey" PRIMARY KEY ("hash")
);

-- CreateTable
CREATE TABLE "Lawn" (
    "id" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "place" TEXT NOT NULL DEFAULT '',
    "latitudeDeg" DOUBLE PRECISION,
    "longitudeDeg" DOUBLE PRECISION,
    "elevationM" DOUBLE PRECISION,
    "timeZone" TEXT NOT NULL,
    "unitSystem" TEXT NOT NULL DEFAULT 'us-customary',
    "grass" TEXT NOT NULL DEFAULT '',
    "mowingHeightMm" DOUBLE PRECISION,
    "mowingHeightEnteredValue" DOUBLE PRECISION,
    "mowingHeightEnteredUnit" TEXT,
    "waterPh" DOUBLE PRECISION,
    "waterAlkalinityMgPerLCaCO3" DOUBLE PRECISION,
    "waterHardnessMgPerLCaCO3" DOUBLE PRECISION,
    "waterChlorinated" BOOLEAN NOT NULL DEFAULT false,
    "chartEdition" TEXT NOT NULL DEFAULT '2014',
    "note" TEXT NOT NULL DEFAULT '',
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "deletedAt" TIMESTAMPTZ(3),

    CONSTRAINT "Lawn_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Plot" (
    "id" TEXT NOT NULL,
    "lawnId" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "isCheck" BOOLEAN NOT NULL DEFAULT false,
    "polygonM" JSON,
    "areaM2" DOUBLE PRECISION NOT NULL,
    "areaEnteredValue" DOUBLE PRECISION,
    "areaEnteredUnit" TEXT,
    "groundPlace" TEXT,
    "insidePlotId" TEXT,
    "note" TEXT NOT NULL DEFAULT '',
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "deletedAt" TIMESTAMPTZ(3),

    CONSTRAINT "Plot_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Sprayer" (
    "id" TEXT NOT NULL,
    "lawnId" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "tankL" DOUBLE PRECISION NOT NULL,
    "tankEnteredValue" DOUBLE PRECISION,
    "tankEnteredUnit" TEXT,
    "carrierLPerHa" DOUBLE PRECISION,
    "carrierEnteredValue" DOUBLE PRECISION,
    "carrierEnteredUnit" TEXT,
    "swathM" DOUBLE PRECISION,
    "walkingMPerS" DOUBLE PRECISION,
    "catchTestMl" DOUBLE PRECISION,
    "catchTestAreaM2" DOUBLE PRECISION,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "deletedAt" TIMESTAMPTZ(3),

    CONSTRAINT "Sprayer_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Product" (
    "id" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "generic" BOOLEAN NOT NULL DEFAULT false,
    "form" TEXT NOT NULL,
    "role" TEXT NOT NULL DEFAULT 'other',
    "mixingKind" TEXT,
    "registrationNumber" TEXT NOT NULL DEFAULT '',
    "densityKgPerL" DOUBLE PRECISION,
    "nAmmoniacalPercent" DOUBLE PRECISION NOT NULL DEFAULT 0,
    "nNitratePercent" DOUBLE PRECISION NOT NULL DEFAULT 0,
    "nUreaPercent" DOUBLE PRECISION NOT NULL DEFAULT 0,
    "nOtherPercent" DOUBLE PRECISION NOT NULL DEFAULT 0,
    "p2o5Percent" DOUBLE PRECISION NOT NULL DEFAULT 0,
    "k2oPercent" DOUBLE PRECISION NOT NULL DEFAULT 0,
    "sPercent" DOUBLE PRECISION NOT NULL DEFAULT 0,
    "fePercent" DOUBLE PRECISION NOT NULL DEFAULT 0,
    "mnPercent" DOUBLE PRECISION NOT NULL DEFAULT 0,
    "mgPercent" DOUBLE PRECISION NOT NULL DEFAULT 0,
    "znPercent" DOUBLE PRECISION NOT NULL DEFAULT 0,
    "caPercent" DOUBLE PRECISION NOT NULL DEFAULT 0,
    "labelRateEnteredValue" DOUBLE PRECISION,
    "labelRateEnteredUnit" TEXT,
    "labelMaxRateKgPerHa" DOUBLE PRECISION,
    "labelMaxRateLPerHa" DOUBLE PRECISION,
    "labelMaxEnteredValue" DOUBLE PRECISION,
    "labelMaxEnteredUnit" TEXT,
    "minIntervalDays" DOUBLE PRECISION,
    "labelLeastCarrierLPerHa" DOUBLE PRECISION,
    "labelLeastCarrierEnteredValue" DOUBLE PRECISION,
    "labelLeastCarrierEnteredUnit" TEXT,
    "seasonCapKgPerHa" DOUBLE PRECISION,
    "seasonCapLPerHa" DOUBLE PRECISION,
    "seasonCapEnteredValue" DOUBLE PRECISION,
    "seasonCapEnteredUnit" TEXT,
    "seasonMostApplications" INTEGER,
    "composition" JSON,
    "priceAmount" DOUBLE PRECISION,
    "priceCurrency" TEXT,
    "pricePerEnteredValue" DOUBLE PRECISION,
    "pricePerEnteredUnit" TEXT,
    "cautions" TEXT NOT NULL DEFAULT '',
    "source" TEXT NOT NULL DEFAULT '',
    "note" TEXT NOT NULL DEFAULT '',
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "deletedAt" TIMESTAMPTZ(3),

    CONSTRAINT "Product_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Spray" (
    "id" TEXT NOT NULL,
    "lawnId" TEXT NOT NULL,
    "state" TEXT NOT NULL DEFAULT 'done',
    "startedAt" TIMESTAMPTZ(3) NOT NULL,
    "endedAt" TIMESTAMPTZ(3),
    "sprayerId" TEXT,
    "carrierLPerHa" DOUBLE PRECISION,
    "carrierEnteredValue" DOUBLE PRECISION,
    "carrierEnteredUnit" TEXT,
    "plannedVolumeL" DOUBLE PRECISION,
    "actualVolumeL" DOUBLE PRECISION,
    "leftoverL" DOUBLE PRECISION,
    "waterPh" DOUBLE PRECISION,
    "waterAlkalinityMgPerLCaCO3" DOUBLE PRECISION,
    "waterHardnessMgPerLCaCO3" DOUBLE PRECISION,
    "targetPh" DOUBLE PRECISION,
    "predictedPh" DOUBLE PRECISION,
    "measuredPh" DOUBLE PRECISION,
    "airTempC" DOUBLE PRECISION,
    "relHumidityPercent" DOUBLE PRECISION,
    "windMPerS" DOUBLE PRECISION,
    "windFromDeg" DOUBLE PRECISION,
    "rainBeforeMm" DOUBLE PRECISION,
    "weatherSource" TEXT,
    "applicator" TEXT NOT NULL DEFAULT '',
    "applicatorLicence" TEXT NOT NULL DEFAULT '',
    "overLimitReason" TEXT,
    "plan" JSON,
    "note" TEXT NOT NULL DEFAULT '',
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "deletedAt" TIMESTAMPTZ(3),

    CONSTRAINT "Spray_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "SprayItem" (
    "id" TEXT NOT NULL,
    "sprayId" TEXT NOT NULL,
    "productId" TEXT NOT NULL,
    "mixingOrder" INTEGER NOT NULL,
    "rateEnteredValue" DOUBLE PRECISION NOT NULL,
    "rateEnteredUnit" TEXT NOT NULL,
    "rateKgPerHa" DOUBLE PRECISION,
    "rateLPerHa" DOUBLE PRECISION,
    "plannedKg" DOUBLE PRECISION,
    "plannedL" DOUBLE PRECISION,
    "actualKg" DOUBLE PRECISION,
    "actualL" DOUBLE PRECISION,
    "actualEnteredValue" DOUBLE PRECISION,
    "actualEnteredUnit" TEXT,

    CONSTRAINT "SprayItem_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "SprayPlot" (
    "sprayId" TEXT NOT NULL,
    "plotId" TEXT NOT NULL,
    "areaM2" DOUBLE PRECISION NOT NULL,

    CONSTRAINT "SprayPlot_pkey" PRIMARY KEY ("sprayId","plotId")
);

-- CreateTable
CREATE TABLE "LawnEvent" (
    "id" TEXT NOT NULL,
    "lawnId" TEXT NOT NULL,
    "kind" TEXT NOT NULL,
    "at" TIMESTAMPTZ(3) NOT NULL,
    "wholeLawn" BOOLEAN NOT NULL DEFAULT true,
    "detail" TEXT,
    "subject" TEXT NOT NULL DEFAULT '',
    "mowingHeightMm" DOUBLE PRECISION,
    "mowingHeightEnteredValue" DOUBLE PRECISION,
    "mowingHeightEnteredUnit" TEXT,
    "mowingDirectionDeg" DOUBLE PRECISION,
    "bladeSharpened" BOOLEAN NOT NULL DEFAULT false,
    "waterMm" DOUBLE PRECISION,
    "waterEnteredValue" DOUBLE PRECISION,
    "waterEnteredUnit" TEXT,
    "waterMin" DOUBLE PRECISION,
    "productId" TEXT,
    "rateEnteredValue" DOUBLE PRECISION,
    "rateEnteredUnit" TEXT,
    "rateKgPerHa" DOUBLE PRECISION,
    "rateLPerHa" DOUBLE PRECISION,
    "sharePercent" DOUBLE PRECISION,
    "note" TEXT NOT NULL DEFAULT '',
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "deletedAt" TIMESTAMPTZ(3),

    CONSTRAINT "LawnEvent_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "LawnEventPlot" (
    "eventId" TEXT NOT NULL,
    "plotId" TEXT NOT NULL,

    CONSTRAINT "LawnEventPlot_pkey" PRIMARY KEY ("eventId","plotId")
);

-- CreateTable
CREATE TABLE "Viewpoint" (
    "id" TEXT NOT NULL,
    "lawnId" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "note" TEXT NOT NULL DEFAULT '',
    "referencePhotoId" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "deletedAt" TIMESTAMPTZ(3),

    CONSTRAINT "Viewpoint_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Landmark" (
    "id" TEXT NOT NULL,
    "viewpointId" TEXT NOT NULL,
    "photoId" TEXT NOT NULL,
    "name" TEXT NOT NULL DEFAULT '',
    "xPx" DOUBLE PRECISION NOT NULL,
    "yPx" DOUBLE PRECISION NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "deletedAt" TIMESTAMPTZ(3),

    CONSTRAINT "Landmark_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "LandmarkSighting" (
    "landmarkId" TEXT NOT NULL,
    "photoId" TEXT NOT NULL,
    "xPx" DOUBLE PRECISION,
    "yPx" DOUBLE PRECISION,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "LandmarkSighting_pkey" PRIMARY KEY ("landmarkId","photoId")
);

-- CreateTable
CREATE TABLE "Photo" (
    "id" TEXT NOT NULL,
    "lawnId" TEXT NOT NULL,
    "viewpointId" TEXT,
    "followsSprayId" TEXT,
    "sha256" TEXT NOT NULL,
    "kind" TEXT NOT NULL,
    "fileName" TEXT NOT NULL,
    "bytes" INTEGER NOT NULL,
    "widthPx" INTEGER NOT NULL,
    "heightPx" INTEGER NOT NULL,
    "takenAt" TIMESTAMPTZ(3) NOT NULL,
    "takenAtOffsetMin" INTEGER NOT NULL,
    "takenAtBasis" TEXT NOT NULL,
    "cameraMake" TEXT,
    "cameraModel" TEXT,
    "exposureS" DOUBLE PRECISION,
    "fNumber" DOUBLE PRECISION,
    "iso" DOUBLE PRECISION,
    "focalLengthMm" DOUBLE PRECISION,
    "cameraPitchDeg" DOUBLE PRECISION,
    "cameraRollDeg" DOUBLE PRECISION,
    "colourProfile" TEXT,
    "sunElevationDeg" DOUBLE PRECISION,
    "sunAzimuthDeg" DOUBLE PRECISION,
    "greyCard" JSON,
    "chart" JSON,
    "cautions" JSON,
    "comparisonCautions" JSON,
    "outlinesKey" TEXT,
    "readingsKey" TEXT,
    "comparisonKey" TEXT,
    "measureState" TEXT NOT NULL DEFAULT 'waiting',
    "measureMessage" TEXT,
    "mownSinceBaseline" BOOLEAN NOT NULL DEFAULT false,
    "note" TEXT NOT NULL DEFAULT '',
    "uploadedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "deletedAt" TIMESTAMPTZ(3),

    CONSTRAINT "Photo_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Outline" (
    "id" TEXT NOT NULL,
    "photoId" TEXT NOT NULL,
    "plotId" TEXT NOT NULL,
    "corners" JSON NOT NULL,
    "origin" TEXT NOT NULL,
    "confidence" DOUBLE PRECISION,
    "accepted" BOOLEAN NOT NULL DEFAULT true,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "Outline_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Reading" (
    "id" TEXT NOT NULL,
    "photoId" TEXT NOT NULL,
    "plotId" TEXT NOT NULL,
    "takenAt" TIMESTAMPTZ(3) NOT NULL,
    "methodVersion" TEXT NOT NULL,
    "parameters" JSON NOT NULL,
    "correction" TEXT NOT NULL DEFAULT 'none',
    "pixels" INTEGER NOT NULL,
    "turfPixels" INTEGER NOT NULL,
    "turfShare" DOUBLE PRECISION NOT NULL,
    "hueDeg" DOUBLE PRECISION,
    "saturation" DOUBLE PRECISION,
    "brightness" DOUBLE PRECISION,
    "dgci" DOUBLE PRECISION,
    "extrapolated" BOOLEAN NOT NULL DEFAULT false,
    "dgciPixelMean" DOUBLE PRECISION,
    "dgciPixelSd" DOUBLE PRECISION,
    "dgciLow95" DOUBLE PRECISION,
    "dgciHigh95" DOUBLE PRECISION,
    "labL" DOUBLE PRECISION,
    "labA" DOUBLE PRECISION,
    "labB" DOUBLE PRECISION,
    "ngrdi" DOUBLE PRECISION,
    "gli" DOUBLE PRECISION,
    "exg" DOUBLE PRECISION,
    "vari" DOUBLE PRECISION,
    "blocks" JSON NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Reading_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Change" (
    "id" TEXT NOT NULL,
    "photoId" TEXT NOT NULL,
    "baselinePhotoId" TEXT NOT NULL,
    "plotId" TEXT NOT NULL,
    "checkPlotId" TEXT NOT NULL,
    "methodVersion" TEXT NOT NULL,
    "difference" DOUBLE PRECISION,
    "low95" DOUBLE PRECISION,
    "high95" DOUBLE PRECISION,
    "differenceWithoutMarks" DOUBLE PRECISION,
    "low95WithoutMarks" DOUBLE PRECISION,
    "high95WithoutMarks" DOUBLE PRECISION,
    "refusedReason" TEXT,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Change_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Patch" (
    "id" TEXT NOT NULL,
    "plotId" TEXT NOT NULL,
    "acrossShare" DOUBLE PRECISION,
    "alongShare" DOUBLE PRECISION,
    "seenFrom" TIMESTAMPTZ(3) NOT NULL,
    "seenTo" TIMESTAMPTZ(3) NOT NULL,
    "state" TEXT NOT NULL DEFAULT 'open',
    "kind" TEXT,
    "note" TEXT NOT NULL DEFAULT '',
    "judgedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Patch_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Mark" (
    "id" TEXT NOT NULL,
    "photoId" TEXT NOT NULL,
    "plotId" TEXT NOT NULL,
    "threadId" TEXT NOT NULL,
    "acrossShare" DOUBLE PRECISION,
    "alongShare" DOUBLE PRECISION,
    "kind" TEXT NOT NULL,
    "kindByPerson" TEXT,
    "state" TEXT NOT NULL DEFAULT 'open',
    "isNew" BOOLEAN NOT NULL DEFAULT true,
    "score" DOUBLE PRECISION NOT NULL,
    "polygon" JSON NOT NULL,
    "areaShare" DOUBLE PRECISION NOT NULL,
    "areaM2" DOUBLE PRECISION,
    "severityDeltaE00" DOUBLE PRECISION,
    "note" TEXT NOT NULL DEFAULT '',
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Mark_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Rating" (
    "id" TEXT NOT NULL,
    "plotId" TEXT NOT NULL,
    "photoId" TEXT,
    "trialId" TEXT,
    "rater" TEXT NOT NULL,
    "score" INTEGER NOT NULL,
    "blind" BOOLEAN NOT NULL DEFAULT false,
    "ratedAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "Rating_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Trial" (
    "id" TEXT NOT NULL,
    "lawnId" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "question" TEXT NOT NULL,
    "design" TEXT NOT NULL,
    "blocks" INTEGER NOT NULL,
    "seed" INTEGER NOT NULL,
    "startsOn" TEXT NOT NULL,
    "photoDays" JSON NOT NULL,
    "layout" JSON NOT NULL,
    "markThreadId" TEXT,
    "causeTest" JSON,
    "note" TEXT NOT NULL DEFAULT '',
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "deletedAt" TIMESTAMPTZ(3),

    CONSTRAINT "Trial_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "PlotCard" (
    "id" TEXT NOT NULL,
    "lawnId" TEXT NOT NULL,
    "trialId" TEXT,
    "number" INTEGER NOT NULL,
    "place" TEXT NOT NULL,
    "xM" DOUBLE PRECISION NOT NULL,
    "yM" DOUBLE PRECISION NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "deletedAt" TIMESTAMPTZ(3),

    CONSTRAINT "PlotCard_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Treatment" (
    "id" TEXT NOT NULL,
    "trialId" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "isCheck" BOOLEAN NOT NULL DEFAULT false,
    "onSubplots" BOOLEAN NOT NULL DEFAULT false,
    "displayOrder" INTEGER NOT NULL,
    "carrierLPerHa" DOUBLE PRECISION,
    "carrierEnteredValue" DOUBLE PRECISION,
    "carrierEnteredUnit" TEXT,

    CONSTRAINT "Treatment_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "TreatmentItem" (
    "id" TEXT NOT NULL,
    "treatmentId" TEXT NOT NULL,
    "productId" TEXT NOT NULL,
    "rateEnteredValue" DOUBLE PRECISION NOT NULL,
    "rateEnteredUnit" TEXT NOT NULL,

    CONSTRAINT "TreatmentItem_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "TrialPlot" (
    "trialId" TEXT NOT NULL,
    "plotId" TEXT NOT NULL,
    "treatmentId" TEXT NOT NULL,
    "subTreatmentId" TEXT,
    "block" INTEGER NOT NULL,
    "position" INTEGER NOT NULL,
    "excludedReason" TEXT,

    CONSTRAINT "TrialPlot_pkey" PRIMARY KEY ("trialId","plotId")
);

-- CreateTable
CREATE TABLE "TrialOmission" (
    "id" TEXT NOT NULL,
    "trialId" TEXT NOT NULL,
    "photoId" TEXT NOT NULL,
    "plotId" TEXT,
    "reason" TEXT NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "TrialOmission_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "WeatherHour" (
    "lawnId" TEXT NOT NULL,
    "hourStart" TIMESTAMPTZ(3) NOT NULL,
    "layer" INTEGER NOT NULL DEFAULT 1,
    "airTempC" DOUBLE PRECISION,
    "relHumidityPercent" DOUBLE PRECISION,
    "windMPerS" DOUBLE PRECISION,
    "windHeightM" DOUBLE PRECISION,
    "gustMPerS" DOUBLE PRECISION,
    "windFromDeg" DOUBLE PRECISION,
    "rainMm" DOUBLE PRECISION,
    "rainChancePercent" DOUBLE PRECISION,
    "solarWPerM2" DOUBLE PRECISION,
    "cloudPercent" DOUBLE PRECISION,
    "pressureKPa" DOUBLE PRECISION,
    "leafWetMin" DOUBLE PRECISION,
    "source" TEXT NOT NULL,
    "importId" TEXT,

    CONSTRAINT "WeatherHour_pkey" PRIMARY KEY ("lawnId","hourStart","layer")
);

-- CreateTable
CREATE TABLE "WeatherImport" (
    "id" TEXT NOT NULL,
    "lawnId" TEXT NOT NULL,
    "layer" INTEGER NOT NULL DEFAULT 2,
    "state" TEXT NOT NULL DEFAULT 'done',
    "fileName" TEXT NOT NULL,
    "hours" INTEGER NOT NULL,
    "firstHour" TIMESTAMPTZ(3),
    "lastHour" TIMESTAMPTZ(3),
    "rowsRead" INTEGER NOT NULL DEFAULT 0,
    "badRows" INTEGER NOT NULL DEFAULT 0,
    "duplicateRows" INTEGER NOT NULL DEFAULT 0,
    "mapping" JSON,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "WeatherImport_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "ShareLink" (
    "id" TEXT NOT NULL,
    "tokenHash" TEXT NOT NULL,
    "trialId" TEXT NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "revokedAt" TIMESTAMPTZ(3),

    CONSTRAINT "ShareLink_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Setting" (
    "name" TEXT NOT NULL,
    "value" JSON NOT NULL,

    CONSTRAINT "Setting_pkey" PRIMARY KEY ("name")
);

-- CreateIndex
CREATE INDEX "DoorSession_endsAt_idx" ON "DoorSession"("endsAt");

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
CREATE INDEX "LawnEvent_lawnId_at_idx" ON "LawnEvent"("lawnId", "at");

-- CreateIndex
CREATE INDEX "LawnEvent_productId_idx" ON "LawnEvent"("productId");

-- CreateIndex
CREATE INDEX "LawnEventPlot_plotId_idx" ON "LawnEventPlot"("plotId");

-- CreateIndex
CREATE UNIQUE INDEX "Viewpoint_lawnId_name_key" ON "Viewpoint"("lawnId", "name");

-- CreateIndex
CREATE INDEX "Landmark_viewpointId_idx" ON "Landmark"("viewpointId");

-- CreateIndex
CREATE INDEX "Landmark_photoId_idx" ON "Landmark"("photoId");

-- CreateIndex
CREATE INDEX "LandmarkSighting_photoId_idx" ON "LandmarkSighting"("photoId");

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
CREATE INDEX "Patch_plotId_idx" ON "Patch"("plotId");

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
CREATE INDEX "PlotCard_lawnId_idx" ON "PlotCard"("lawnId");

-- CreateIndex
CREATE INDEX "PlotCard_trialId_idx" ON "PlotCard"("trialId");

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
CREATE INDEX "TrialPlot_subTreatmentId_idx" ON "TrialPlot"("subTreatmentId");

-- CreateIndex
CREATE INDEX "TrialOmission_trialId_idx" ON "TrialOmission"("trialId");

-- CreateIndex
CREATE INDEX "TrialOmission_photoId_idx" ON "TrialOmission"("photoId");

-- CreateIndex
CREATE INDEX "TrialOmission_plotId_idx" ON "TrialOmission"("plotId");

-- CreateIndex
CREATE INDEX "WeatherHour_importId_idx" ON "WeatherHour"("importId");

-- CreateIndex
CREATE UNIQUE INDEX "WeatherImport_lawnId_layer_key" ON "WeatherImport"("lawnId", "layer");

-- CreateIndex
CREATE UNIQUE INDEX "ShareLink_tokenHash_key" ON "ShareLink"("tokenHash");

-- AddForeignKey
ALTER TABLE "Plot" ADD CONSTRAINT "Plot_lawnId_fkey" FOREIGN KEY ("lawnId") REFERENCES "Lawn"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Sprayer" ADD CONSTRAINT "Sprayer_lawnId_fkey" FOREIGN KEY ("lawnId") REFERENCES "Lawn"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Spray" ADD CONSTRAINT "Spray_lawnId_fkey" FOREIGN KEY ("lawnId") REFERENCES "Lawn"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Spray" ADD CONSTRAINT "Spray_sprayerId_fkey" FOREIGN KEY ("sprayerId") REFERENCES "Sprayer"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "SprayItem" ADD CONSTRAINT "SprayItem_sprayId_fkey" FOREIGN KEY ("sprayId") REFERENCES "Spray"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "SprayItem" ADD CONSTRAINT "SprayItem_productId_fkey" FOREIGN KEY ("productId") REFERENCES "Product"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "SprayPlot" ADD CONSTRAINT "SprayPlot_sprayId_fkey" FOREIGN KEY ("sprayId") REFERENCES "Spray"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "SprayPlot" ADD CONSTRAINT "SprayPlot_plotId_fkey" FOREIGN KEY ("plotId") REFERENCES "Plot"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "LawnEvent" ADD CONSTRAINT "LawnEvent_lawnId_fkey" FOREIGN KEY ("lawnId") REFERENCES "Lawn"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "LawnEvent" ADD CONSTRAINT "LawnEvent_productId_fkey" FOREIGN KEY ("productId") REFERENCES "Product"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "LawnEventPlot" ADD CONSTRAINT "LawnEventPlot_eventId_fkey" FOREIGN KEY ("eventId") REFERENCES "LawnEvent"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "LawnEventPlot" ADD CONSTRAINT "LawnEventPlot_plotId_fkey" FOREIGN KEY ("plotId") REFERENCES "Plot"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Viewpoint" ADD CONSTRAINT "Viewpoint_lawnId_fkey" FOREIGN KEY ("lawnId") REFERENCES "Lawn"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Landmark" ADD CONSTRAINT "Landmark_viewpointId_fkey" FOREIGN KEY ("viewpointId") REFERENCES "Viewpoint"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Landmark" ADD CONSTRAINT "Landmark_photoId_fkey" FOREIGN KEY ("photoId") REFERENCES "Photo"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "LandmarkSighting" ADD CONSTRAINT "LandmarkSighting_landmarkId_fkey" FOREIGN KEY ("landmarkId") REFERENCES "Landmark"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "LandmarkSighting" ADD CONSTRAINT "LandmarkSighting_photoId_fkey" FOREIGN KEY ("photoId") REFERENCES "Photo"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Photo" ADD CONSTRAINT "Photo_lawnId_fkey" FOREIGN KEY ("lawnId") REFERENCES "Lawn"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Photo" ADD CONSTRAINT "Photo_viewpointId_fkey" FOREIGN KEY ("viewpointId") REFERENCES "Viewpoint"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Photo" ADD CONSTRAINT "Photo_followsSprayId_fkey" FOREIGN KEY ("followsSprayId") REFERENCES "Spray"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Outline" ADD CONSTRAINT "Outline_photoId_fkey" FOREIGN KEY ("photoId") REFERENCES "Photo"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Outline" ADD CONSTRAINT "Outline_plotId_fkey" FOREIGN KEY ("plotId") REFERENCES "Plot"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Reading" ADD CONSTRAINT "Reading_photoId_fkey" FOREIGN KEY ("photoId") REFERENCES "Photo"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Reading" ADD CONSTRAINT "Reading_plotId_fkey" FOREIGN KEY ("plotId") REFERENCES "Plot"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Change" ADD CONSTRAINT "Change_photoId_fkey" FOREIGN KEY ("photoId") REFERENCES "Photo"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Change" ADD CONSTRAINT "Change_baselinePhotoId_fkey" FOREIGN KEY ("baselinePhotoId") REFERENCES "Photo"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Change" ADD CONSTRAINT "Change_plotId_fkey" FOREIGN KEY ("plotId") REFERENCES "Plot"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Patch" ADD CONSTRAINT "Patch_plotId_fkey" FOREIGN KEY ("plotId") REFERENCES "Plot"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Mark" ADD CONSTRAINT "Mark_photoId_fkey" FOREIGN KEY ("photoId") REFERENCES "Photo"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Mark" ADD CONSTRAINT "Mark_plotId_fkey" FOREIGN KEY ("plotId") REFERENCES "Plot"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Rating" ADD CONSTRAINT "Rating_plotId_fkey" FOREIGN KEY ("plotId") REFERENCES "Plot"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Rating" ADD CONSTRAINT "Rating_photoId_fkey" FOREIGN KEY ("photoId") REFERENCES "Photo"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Rating" ADD CONSTRAINT "Rating_trialId_fkey" FOREIGN KEY ("trialId") REFERENCES "Trial"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Trial" ADD CONSTRAINT "Trial_lawnId_fkey" FOREIGN KEY ("lawnId") REFERENCES "Lawn"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PlotCard" ADD CONSTRAINT "PlotCard_lawnId_fkey" FOREIGN KEY ("lawnId") REFERENCES "Lawn"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PlotCard" ADD CONSTRAINT "PlotCard_trialId_fkey" FOREIGN KEY ("trialId") REFERENCES "Trial"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Treatment" ADD CONSTRAINT "Treatment_trialId_fkey" FOREIGN KEY ("trialId") REFERENCES "Trial"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "TreatmentItem" ADD CONSTRAINT "TreatmentItem_treatmentId_fkey" FOREIGN KEY ("treatmentId") REFERENCES "Treatment"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "TreatmentItem" ADD CONSTRAINT "TreatmentItem_productId_fkey" FOREIGN KEY ("productId") REFERENCES "Product"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "TrialPlot" ADD CONSTRAINT "TrialPlot_trialId_fkey" FOREIGN KEY ("trialId") REFERENCES "Trial"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "TrialPlot" ADD CONSTRAINT "TrialPlot_plotId_fkey" FOREIGN KEY ("plotId") REFERENCES "Plot"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "TrialPlot" ADD CONSTRAINT "TrialPlot_treatmentId_fkey" FOREIGN KEY ("treatmentId") REFERENCES "Treatment"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "TrialPlot" ADD CONSTRAINT "TrialPlot_subTreatmentId_fkey" FOREIGN KEY ("subTreatmentId") REFERENCES "Treatment"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "TrialOmission" ADD CONSTRAINT "TrialOmission_trialId_fkey" FOREIGN KEY ("trialId") REFERENCES "Trial"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "TrialOmission" ADD CONSTRAINT "TrialOmission_photoId_fkey" FOREIGN KEY ("photoId") REFERENCES "Photo"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "TrialOmission" ADD CONSTRAINT "TrialOmission_plotId_fkey" FOREIGN KEY ("plotId") REFERENCES "Plot"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "WeatherHour" ADD CONSTRAINT "WeatherHour_lawnId_fkey" FOREIGN KEY ("lawnId") REFERENCES "Lawn"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "WeatherHour" ADD CONSTRAINT "WeatherHour_importId_fkey" FOREIGN KEY ("importId") REFERENCES "WeatherImport"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "WeatherImport" ADD CONSTRAINT "WeatherImport_lawnId_fkey" FOREIGN KEY ("lawnId") REFERENCES "Lawn"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ShareLink" ADD CONSTRAINT "ShareLink_trialId_fkey" FOREIGN KEY ("trialId") REFERENCES "Trial"("id") ON DELETE CASCADE ON UPDATE CASCADE;
