-- CreateTable
CREATE TABLE "TrialOmission" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "trialId" TEXT NOT NULL,
    "photoId" TEXT NOT NULL,
    "plotId" TEXT,
    "reason" TEXT NOT NULL,
    "createdAt" DATETIME NOT NULL DEFAULT CURRENT_TIMESTAMP,
    CONSTRAINT "TrialOmission_trialId_fkey" FOREIGN KEY ("trialId") REFERENCES "Trial" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "TrialOmission_photoId_fkey" FOREIGN KEY ("photoId") REFERENCES "Photo" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "TrialOmission_plotId_fkey" FOREIGN KEY ("plotId") REFERENCES "Plot" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- RedefineTables
PRAGMA defer_foreign_keys=ON;
PRAGMA foreign_keys=OFF;
CREATE TABLE "new_Treatment" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "trialId" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "isCheck" BOOLEAN NOT NULL DEFAULT false,
    "onSubplots" BOOLEAN NOT NULL DEFAULT false,
    "displayOrder" INTEGER NOT NULL,
    "carrierLPerHa" REAL,
    "carrierEnteredValue" REAL,
    "carrierEnteredUnit" TEXT,
    CONSTRAINT "Treatment_trialId_fkey" FOREIGN KEY ("trialId") REFERENCES "Trial" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);
INSERT INTO "new_Treatment" ("carrierEnteredUnit", "carrierEnteredValue", "carrierLPerHa", "displayOrder", "id", "isCheck", "name", "trialId") SELECT "carrierEnteredUnit", "carrierEnteredValue", "carrierLPerHa", "displayOrder", "id", "isCheck", "name", "trialId" FROM "Treatment";
DROP TABLE "Treatment";
ALTER TABLE "new_Treatment" RENAME TO "Treatment";
CREATE UNIQUE INDEX "Treatment_trialId_name_key" ON "Treatment"("trialId", "name");
CREATE TABLE "new_TrialPlot" (
    "trialId" TEXT NOT NULL,
    "plotId" TEXT NOT NULL,
    "treatmentId" TEXT NOT NULL,
    "subTreatmentId" TEXT,
    "block" INTEGER NOT NULL,
    "position" INTEGER NOT NULL,
    "excludedReason" TEXT,

    PRIMARY KEY ("trialId", "plotId"),
    CONSTRAINT "TrialPlot_trialId_fkey" FOREIGN KEY ("trialId") REFERENCES "Trial" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "TrialPlot_plotId_fkey" FOREIGN KEY ("plotId") REFERENCES "Plot" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "TrialPlot_treatmentId_fkey" FOREIGN KEY ("treatmentId") REFERENCES "Treatment" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "TrialPlot_subTreatmentId_fkey" FOREIGN KEY ("subTreatmentId") REFERENCES "Treatment" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);
INSERT INTO "new_TrialPlot" ("block", "excludedReason", "plotId", "position", "treatmentId", "trialId") SELECT "block", "excludedReason", "plotId", "position", "treatmentId", "trialId" FROM "TrialPlot";
DROP TABLE "TrialPlot";
ALTER TABLE "new_TrialPlot" RENAME TO "TrialPlot";
CREATE INDEX "TrialPlot_plotId_idx" ON "TrialPlot"("plotId");
CREATE INDEX "TrialPlot_treatmentId_idx" ON "TrialPlot"("treatmentId");
CREATE INDEX "TrialPlot_subTreatmentId_idx" ON "TrialPlot"("subTreatmentId");
PRAGMA foreign_keys=ON;
PRAGMA defer_foreign_keys=OFF;

-- CreateIndex
CREATE INDEX "TrialOmission_trialId_idx" ON "TrialOmission"("trialId");

-- CreateIndex
CREATE INDEX "TrialOmission_photoId_idx" ON "TrialOmission"("photoId");

-- CreateIndex
CREATE INDEX "TrialOmission_plotId_idx" ON "TrialOmission"("plotId");
