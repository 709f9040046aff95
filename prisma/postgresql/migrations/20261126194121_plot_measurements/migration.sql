-- CreateTable
CREATE TABLE "PlotMeasurement" (
    "id" TEXT NOT NULL,
    "trialId" TEXT NOT NULL,
    "plotId" TEXT NOT NULL,
    "kind" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "value" DOUBLE PRECISION NOT NULL,
    "enteredValue" DOUBLE PRECISION NOT NULL,
    "enteredUnit" TEXT NOT NULL,
    "by" TEXT NOT NULL DEFAULT '',
    "measuredAt" TIMESTAMPTZ(3) NOT NULL,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "PlotMeasurement_pkey" PRIMARY KEY ("id")
);

-- CreateIndex
CREATE INDEX "PlotMeasurement_trialId_idx" ON "PlotMeasurement"("trialId");

-- CreateIndex
CREATE INDEX "PlotMeasurement_plotId_idx" ON "PlotMeasurement"("plotId");

-- AddForeignKey
ALTER TABLE "PlotMeasurement" ADD CONSTRAINT "PlotMeasurement_trialId_fkey" FOREIGN KEY ("trialId") REFERENCES "Trial"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PlotMeasurement" ADD CONSTRAINT "PlotMeasurement_plotId_fkey" FOREIGN KEY ("plotId") REFERENCES "Plot"("id") ON DELETE CASCADE ON UPDATE CASCADE;
