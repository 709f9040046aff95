-- AlterTable
ALTER TABLE "DoorSession" ADD COLUMN     "personId" TEXT;

-- AlterTable
ALTER TABLE "Spray" ADD COLUMN     "byPersonId" TEXT;

-- AlterTable
ALTER TABLE "LawnEvent" ADD COLUMN     "byPersonId" TEXT;

-- AlterTable
ALTER TABLE "Photo" ADD COLUMN     "byPersonId" TEXT;

-- AlterTable
ALTER TABLE "Patch" ADD COLUMN     "byPersonId" TEXT;

-- AlterTable
ALTER TABLE "Rating" ADD COLUMN     "byPersonId" TEXT;

-- AlterTable
ALTER TABLE "PlotMeasurement" ADD COLUMN     "byPersonId" TEXT;

-- CreateTable
CREATE TABLE "Person" (
    "id" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "nameKey" TEXT NOT NULL,
    "keepsDiary" BOOLEAN NOT NULL DEFAULT false,
    "createdAt" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "deletedAt" TIMESTAMPTZ(3),

    CONSTRAINT "Person_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "LawnRight" (
    "personId" TEXT NOT NULL,
    "lawnId" TEXT NOT NULL,
    "right" TEXT NOT NULL,

    CONSTRAINT "LawnRight_pkey" PRIMARY KEY ("personId","lawnId")
);

-- CreateTable
CREATE TABLE "PersonPassphrase" (
    "personId" TEXT NOT NULL,
    "salt" TEXT NOT NULL,
    "check" TEXT NOT NULL,
    "setAt" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "PersonPassphrase_pkey" PRIMARY KEY ("personId")
);

-- CreateTable
CREATE TABLE "DoorTry" (
    "key" TEXT NOT NULL,
    "wrong" INTEGER NOT NULL,
    "lastAt" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "DoorTry_pkey" PRIMARY KEY ("key")
);

-- CreateTable
CREATE TABLE "ServerFact" (
    "name" TEXT NOT NULL,
    "value" JSON NOT NULL,
    "updatedAt" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "ServerFact_pkey" PRIMARY KEY ("name")
);

-- CreateIndex
CREATE UNIQUE INDEX "Person_nameKey_key" ON "Person"("nameKey");

-- CreateIndex
CREATE INDEX "LawnRight_lawnId_idx" ON "LawnRight"("lawnId");

-- CreateIndex
CREATE INDEX "DoorSession_personId_idx" ON "DoorSession"("personId");

-- AddForeignKey
ALTER TABLE "DoorSession" ADD CONSTRAINT "DoorSession_personId_fkey" FOREIGN KEY ("personId") REFERENCES "Person"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "LawnRight" ADD CONSTRAINT "LawnRight_personId_fkey" FOREIGN KEY ("personId") REFERENCES "Person"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "LawnRight" ADD CONSTRAINT "LawnRight_lawnId_fkey" FOREIGN KEY ("lawnId") REFERENCES "Lawn"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PersonPassphrase" ADD CONSTRAINT "PersonPassphrase_personId_fkey" FOREIGN KEY ("personId") REFERENCES "Person"("id") ON DELETE CASCADE ON UPDATE CASCADE;
