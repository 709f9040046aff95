-- AlterTable
ALTER TABLE "Plot" ADD COLUMN "groundPlace" TEXT;
ALTER TABLE "Plot" ADD COLUMN "insidePlotId" TEXT;

-- CreateTable
CREATE TABLE "LawnEvent" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "lawnId" TEXT NOT NULL,
    "kind" TEXT NOT NULL,
    "at" DATETIME NOT NULL,
    "wholeLawn" BOOLEAN NOT NULL DEFAULT true,
    "detail" TEXT,
    "subject" TEXT NOT NULL DEFAULT '',
    "mowingHeightMm" REAL,
    "mowingHeightEnteredValue" REAL,
    "mowingHeightEnteredUnit" TEXT,
    "mowingDirectionDeg" REAL,
    "bladeSharpened" BOOLEAN NOT NULL DEFAULT false,
    "waterMm" REAL,
    "waterEnteredValue" REAL,
    "waterEnteredUnit" TEXT,
    "waterMin" REAL,
    "productId" TEXT,
    "rateEnteredValue" REAL,
    "rateEnteredUnit" TEXT,
    "rateKgPerHa" REAL,
    "rateLPerHa" REAL,
    "sharePercent" REAL,
    "note" TEXT NOT NULL DEFAULT '',
    "createdAt" DATETIME NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "deletedAt" DATETIME,
    CONSTRAINT "LawnEvent_lawnId_fkey" FOREIGN KEY ("lawnId") REFERENCES "Lawn" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "LawnEvent_productId_fkey" FOREIGN KEY ("productId") REFERENCES "Product" ("id") ON DELETE SET NULL ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "LawnEventPlot" (
    "eventId" TEXT NOT NULL,
    "plotId" TEXT NOT NULL,

    PRIMARY KEY ("eventId", "plotId"),
    CONSTRAINT "LawnEventPlot_eventId_fkey" FOREIGN KEY ("eventId") REFERENCES "LawnEvent" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "LawnEventPlot_plotId_fkey" FOREIGN KEY ("plotId") REFERENCES "Plot" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateIndex
CREATE INDEX "LawnEvent_lawnId_at_idx" ON "LawnEvent"("lawnId", "at");

-- CreateIndex
CREATE INDEX "LawnEvent_productId_idx" ON "LawnEvent"("productId");

-- CreateIndex
CREATE INDEX "LawnEventPlot_plotId_idx" ON "LawnEventPlot"("plotId");
