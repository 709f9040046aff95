-- CreateTable
CREATE TABLE "PlotCard" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "lawnId" TEXT NOT NULL,
    "trialId" TEXT,
    "number" INTEGER NOT NULL,
    "place" TEXT NOT NULL,
    "xM" REAL NOT NULL,
    "yM" REAL NOT NULL,
    "createdAt" DATETIME NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "deletedAt" DATETIME,
    CONSTRAINT "PlotCard_lawnId_fkey" FOREIGN KEY ("lawnId") REFERENCES "Lawn" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "PlotCard_trialId_fkey" FOREIGN KEY ("trialId") REFERENCES "Trial" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateIndex
CREATE INDEX "PlotCard_lawnId_idx" ON "PlotCard"("lawnId");

-- CreateIndex
CREATE INDEX "PlotCard_trialId_idx" ON "PlotCard"("trialId");
