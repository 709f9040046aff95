-- DropIndex
DROP INDEX "Photo_lawnId_takenAt_idx";

-- CreateIndex
CREATE INDEX "LawnEvent_lawnId_deletedAt_idx" ON "LawnEvent"("lawnId", "deletedAt") WHERE "deletedAt" IS NOT NULL;

-- CreateIndex
CREATE INDEX "Photo_lawnId_takenAt_deletedAt_fileName_idx" ON "Photo"("lawnId", "takenAt", "deletedAt", "fileName");

-- CreateIndex
CREATE INDEX "Photo_lawnId_deletedAt_idx" ON "Photo"("lawnId", "deletedAt") WHERE "deletedAt" IS NOT NULL;

-- CreateIndex
CREATE INDEX "Photo_noted_idx" ON "Photo"("lawnId", "takenAt") WHERE "note" <> '';

-- CreateIndex
CREATE INDEX "Spray_lawnId_deletedAt_idx" ON "Spray"("lawnId", "deletedAt") WHERE "deletedAt" IS NOT NULL;
