-- AlterTable
ALTER TABLE "Mark" ADD COLUMN "acrossShare" REAL;
ALTER TABLE "Mark" ADD COLUMN "alongShare" REAL;

-- AlterTable
ALTER TABLE "Photo" ADD COLUMN "comparisonCautions" JSONB;
ALTER TABLE "Photo" ADD COLUMN "comparisonKey" TEXT;
ALTER TABLE "Photo" ADD COLUMN "outlinesKey" TEXT;
ALTER TABLE "Photo" ADD COLUMN "readingsKey" TEXT;

-- CreateTable
CREATE TABLE "Patch" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "plotId" TEXT NOT NULL,
    "acrossShare" REAL,
    "alongShare" REAL,
    "seenFrom" DATETIME NOT NULL,
    "seenTo" DATETIME NOT NULL,
    "state" TEXT NOT NULL DEFAULT 'open',
    "kind" TEXT,
    "note" TEXT NOT NULL DEFAULT '',
    "judgedAt" DATETIME NOT NULL DEFAULT CURRENT_TIMESTAMP,
    CONSTRAINT "Patch_plotId_fkey" FOREIGN KEY ("plotId") REFERENCES "Plot" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateIndex
CREATE INDEX "Patch_plotId_idx" ON "Patch"("plotId");

-- What a person said of a mark so far becomes the patch's, under its thread's name: the latest photo's word counts (of the rows of a
-- group SQLite takes the plain columns from the one with the maximum). Its place is read off its marks later.
INSERT INTO "Patch" ("id", "plotId", "seenFrom", "seenTo", "state", "kind", "note", "judgedAt")
SELECT "threadId", "plotId",
       (SELECT min(p."takenAt") FROM "Mark" o JOIN "Photo" p ON p."id" = o."photoId" WHERE o."threadId" = judged."threadId"),
       (SELECT max(p."takenAt") FROM "Mark" o JOIN "Photo" p ON p."id" = o."photoId" WHERE o."threadId" = judged."threadId"),
       "state", "kindByPerson", "note", "createdAt"
FROM (
  SELECT m."threadId", m."plotId", m."state", m."kindByPerson", m."note", m."createdAt", max(photo."takenAt") AS latest
  FROM "Mark" m JOIN "Photo" photo ON photo."id" = m."photoId"
  WHERE m."state" <> 'open' OR m."kindByPerson" IS NOT NULL OR m."note" <> ''
  GROUP BY m."threadId"
) judged;
