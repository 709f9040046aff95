-- AlterTable
ALTER TABLE "LawnEvent" ADD COLUMN "byPersonId" TEXT;

-- AlterTable
ALTER TABLE "Patch" ADD COLUMN "byPersonId" TEXT;

-- AlterTable
ALTER TABLE "Photo" ADD COLUMN "byPersonId" TEXT;

-- AlterTable
ALTER TABLE "PlotMeasurement" ADD COLUMN "byPersonId" TEXT;

-- AlterTable
ALTER TABLE "Rating" ADD COLUMN "byPersonId" TEXT;

-- AlterTable
ALTER TABLE "Spray" ADD COLUMN "byPersonId" TEXT;

-- CreateTable
CREATE TABLE "Person" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "name" TEXT NOT NULL,
    "nameKey" TEXT NOT NULL,
    "keepsDiary" BOOLEAN NOT NULL DEFAULT false,
    "createdAt" DATETIME NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "deletedAt" DATETIME
);

-- CreateTable
CREATE TABLE "LawnRight" (
    "personId" TEXT NOT NULL,
    "lawnId" TEXT NOT NULL,
    "right" TEXT NOT NULL,

    PRIMARY KEY ("personId", "lawnId"),
    CONSTRAINT "LawnRight_personId_fkey" FOREIGN KEY ("personId") REFERENCES "Person" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "LawnRight_lawnId_fkey" FOREIGN KEY ("lawnId") REFERENCES "Lawn" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "PersonPassphrase" (
    "personId" TEXT NOT NULL PRIMARY KEY,
    "salt" TEXT NOT NULL,
    "check" TEXT NOT NULL,
    "setAt" DATETIME NOT NULL,
    CONSTRAINT "PersonPassphrase_personId_fkey" FOREIGN KEY ("personId") REFERENCES "Person" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "DoorTry" (
    "key" TEXT NOT NULL PRIMARY KEY,
    "wrong" INTEGER NOT NULL,
    "lastAt" DATETIME NOT NULL
);

-- CreateTable
CREATE TABLE "ServerFact" (
    "name" TEXT NOT NULL PRIMARY KEY,
    "value" JSONB NOT NULL,
    "updatedAt" DATETIME NOT NULL
);

-- RedefineTables
PRAGMA defer_foreign_keys=ON;
PRAGMA foreign_keys=OFF;
CREATE TABLE "new_DoorSession" (
    "hash" TEXT NOT NULL PRIMARY KEY,
    "createdAt" DATETIME NOT NULL,
    "endsAt" DATETIME NOT NULL,
    "personId" TEXT,
    CONSTRAINT "DoorSession_personId_fkey" FOREIGN KEY ("personId") REFERENCES "Person" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);
INSERT INTO "new_DoorSession" ("createdAt", "endsAt", "hash") SELECT "createdAt", "endsAt", "hash" FROM "DoorSession";
DROP TABLE "DoorSession";
ALTER TABLE "new_DoorSession" RENAME TO "DoorSession";
CREATE INDEX "DoorSession_endsAt_idx" ON "DoorSession"("endsAt");
CREATE INDEX "DoorSession_personId_idx" ON "DoorSession"("personId");
PRAGMA foreign_keys=ON;
PRAGMA defer_foreign_keys=OFF;

-- CreateIndex
CREATE UNIQUE INDEX "Person_nameKey_key" ON "Person"("nameKey");

-- CreateIndex
CREATE INDEX "LawnRight_lawnId_idx" ON "LawnRight"("lawnId");
