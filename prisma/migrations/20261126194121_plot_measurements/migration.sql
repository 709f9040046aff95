-- CreateTable
CREATE TABLE "PlotMeasurement" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "trialId" TEXT NOT NULL,
    "plotId" TEXT NOT NULL,
    "kind" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "value" REAL NOT NULL,
    "enteredValue" REAL NOT NULL,
    "enteredUnit" TEXT NOT NULL,
    "by" TEXT NOT NULL DEFAULT '',
    "measuredAt" DATETIME NOT NULL,
    "createdAt" DATETIME NOT NULL DEFAULT CURRENT_TIMESTAMP,
    CONSTRAINT "PlotMeasurement_trialId_fkey" FOREIGN KEY ("trialId") REFERENCES "Trial" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "PlotMeasurement_plotId_fkey" FOREIGN KEY ("plotId") REFERENCES "Plot" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateIndex
CREATE INDEX "PlotMeasurement_trialId_idx" ON "PlotMeasurement"("trialId");

-- CreateIndex
CREATE INDEX "PlotMeasurement_plotId_idx" ON "PlotMeasurement"("plotId");
